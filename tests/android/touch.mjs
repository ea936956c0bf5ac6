/**
 * The screens as a phone has them, in Chromium: a phone's name, a finger, a processor four times slower, and the shell's
 * bridge as the page sees it (its answers are made here; the core's are the program's own). What a person expects of
 * back, of large letters, of a turned or split screen, of the keyboard, of a changed time zone.
 *
 * Argument: the folder with node_modules (puppeteer-core).
 */
import { spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { createInterface } from 'node:readline';

const puppeteer = createRequire(join(process.argv[2], 'x.js'))('puppeteer-core');
const AGENT = 'Mozilla/5.0 (Linux; Android 8.0.0; Phone; wv) AppleWebKit/537.36 (KHTML, like Gecko) Version/4.0 Chrome/111.0.0.0 Mobile Safari/537.36';
const UPRIGHT = { width: 360, height: 800, deviceScaleFactor: 2, isMobile: true, hasTouch: true };
const SCREENS = ['arrival', 'fold_out', 'ways', 'figures', 'cut_list', 'buying', 'roof_off', 'steps', 'proof', 'handover', 'photos', 'packet'];
const BESIDE = ['yard', 'outbox', 'shop_book'];

/** A screen that takes longer hangs, milliseconds; on a busy machine too. What it took is printed. */
const SLOWEST = 20_000;

/** @type {Record<string, () => unknown>} */
const checks = {};
let told = '';
/** Check that has to see it, file, what stands there, what is served instead. */
const BREAKS = [
  ['back closes what lies over the page and then leaves the page', 'parts/back.js', 'open().pop()?.close();', ';'],
  ['closed by its button it leaves no step behind, and a link in it takes one', 'parts/back.js', 'location.replace(link.href)', 'location.assign(link.href)'],
  ['letters of twice the size fit every screen', 'parts/style.css', '.bar > * { flex: none; max-width: 100%; }', '.bar > * { flex: none; }'],
  ['letters of twice the size fit every screen', 'parts/fields.js', 'line && rows < 2', 'line'],
  ['every word of the fold-out is whole, in both tongues', 'parts/fold_out.js', 'const beyond = lying ? 0 :', 'const beyond = true ? 0 :'],
  ['every word of the fold-out is whole, in both tongues', 'parts/style.css', 'hyphens: auto; overflow-wrap: anywhere; }', 'max-height: 3em; overflow: hidden; }'],
  ['half of a split screen', 'parts/style.css', 'overflow-wrap: break-word;', 'overflow-wrap: break-word; min-width: 400px;'],
  ['the keyboard comes up and the field stays in sight', 'parts/page.js', "scrollIntoView({ block: 'nearest' })", 'isConnected'],
  ['a photo is asked of the phone, with what it is of', 'parts/phone.js', '/Android/', '/Androids/'],
  ['the screen stays on while a step runs and not after', 'field/steps.js', 'keepAwake(view.steps', 'Boolean(view.steps'],
  ['what the bars cover is kept free', 'parts/style.css', '8px + var(--edge-top)', '8px'],
];
const fail = (what) => { throw new Error(what); };
async function check(what, act) {
  told = what;
  checks[what] = act;
  const said = await act();
  console.log(`screens, ${what}: ${said ?? 'yes'}`);
}

const target = process.env.CARGO_TARGET_DIR ?? 'target';
const program = spawn(`${target}/debug/bowseam`, ['--no-browser'], { stdio: ['ignore', 'pipe', 'inherit'] });
const base = await new Promise((done, failed) => {
  createInterface({ input: program.stdout }).on('line', (line) => line.startsWith('ready ') && done(line.slice(6).trim()));
  program.on('exit', () => failed(new Error('the program ended before it was ready')));
});
const browser = await puppeteer.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'] });

const page = await browser.newPage();
const wrong = [];
page.on('pageerror', (error) => wrong.push(error.message));
page.on('console', (line) => line.type() === 'error' && wrong.push(line.text()));
await page.setUserAgent(AGENT);
await page.setViewport(UPRIGHT);
await page.emulateCPUThrottling(4);

const there = () => page.waitForSelector('main.body *, .banners *', { timeout: 30_000 }).then(() => page.waitForFunction(() => document.querySelector('main.body')?.childElementCount > 0, { timeout: 30_000 }));
const go = async (path) => { await page.goto(base + path); await there(); };
/** Taps; what was drawn anew between being found and being tapped is looked for again. */
async function tap(selector) {
  for (let tries = 0; ; tries += 1) {
    try {
      const found = await page.waitForSelector(selector, { timeout: 20_000, visible: true });
      await found.evaluate((e) => e.scrollIntoView({ block: 'center' }));
      return await found.tap();
    } catch (error) {
      if (tries >= 4 || !/detached|not clickable|not an Element/.test(error.message)) throw error;
    }
  }
}
const has = (words) => page.waitForFunction((text) => document.body.innerText.includes(text), { timeout: 20_000 }, words);
const path = () => page.evaluate(() => location.pathname.split('/').pop());
const job = (unit) => page.evaluate((text) => [...document.querySelectorAll('main li a')].find((a) => a.innerText.includes(text))?.href.match(/job=([0-9a-f-]{36})/)?.[1], unit);

async function run() {
  await page.goto(`${base}field/signin.html`);
  await page.waitForSelector('input[type=password]');
  await check('signing in with a finger', async () => {
    await tap('label.option, .option');
    await page.type('input[type=password]', '1234');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => location.pathname.endsWith('yard.html'), { timeout: 30_000 });
    await there();
  });
  await page.waitForSelector('main li a');
  const unit = await job('4417');
  if (!unit) fail('the demo yard has no unit 4417');
  const screens = [...BESIDE.map((name) => `field/${name}.html`), ...SCREENS.map((name) => `field/${name}.html?job=${unit}`), ...['list', 'measures'].map((face) => `field/fold_out.html?job=${unit}&face=${face}`)];

  await check('every screen is there on a processor four times slower', async () => {
    let slowest = ['', 0];
    for (const screen of screens) {
      const begun = Date.now();
      await go(screen);
      const took = Date.now() - begun;
      if (took > slowest[1]) slowest = [screen.split('?')[0], took];
    }
    if (slowest[1] > SLOWEST) fail(`${slowest[0]} took ${slowest[1]} ms`);
    return `slowest ${slowest[0]}, ${slowest[1]} ms`;
  });

  await check('back closes what lies over the page and then leaves the page', async () => {
    await go('field/yard.html');
    await go(`field/arrival.html?job=${unit}`);
    await tap('[data-key=goto]');
    await page.waitForSelector('dialog[open]');
    await page.evaluate(() => history.back());
    await page.waitForFunction(() => !document.querySelector('dialog'), { timeout: 5000 });
    if (await path() !== 'arrival.html') fail('back left the page');
    await page.evaluate(() => history.back());
    await page.waitForFunction(() => location.pathname.endsWith('yard.html'), { timeout: 5000 });
    await there();
  });
  await check('closed by its button it leaves no step behind, and a link in it takes one', async () => {
    await go('field/yard.html');
    await go(`field/arrival.html?job=${unit}`);
    await tap('[data-key=goto]');
    await page.waitForSelector('dialog[open]');
    await tap('dialog .over-head button');
    await page.waitForFunction(() => !document.querySelector('dialog') && !history.state?.over, { timeout: 5000 });
    await tap('[data-key=goto]');
    await page.waitForSelector('dialog[open]');
    await Promise.all([page.waitForNavigation(), tap('dialog a[href^="steps.html"]')]);
    await there();
    await page.evaluate(() => history.back());
    await page.waitForFunction(() => location.pathname.endsWith('arrival.html'), { timeout: 5000 });
    await there();
    await page.evaluate(() => history.back());
    await page.waitForFunction(() => location.pathname.endsWith('yard.html'), { timeout: 5000 });
  });

  const fits = async (how) => {
    for (const screen of screens) {
      await go(screen);
      await how();
      // Against the width that was set: a page that is too wide makes a phone's window wider.
      const over = await page.evaluate((given) => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => {
        const wide = document.documentElement.scrollWidth - given;
        const acts = [...document.querySelectorAll('.acts .act, .head button')].filter((e) => e.getBoundingClientRect().right > given + 1 || e.getBoundingClientRect().height < 47);
        const scrolls = (e) => e && (/auto|scroll/.test(getComputedStyle(e).overflowX) || scrolls(e.parentElement));
        const beyond = [...document.querySelectorAll('main :is(button, a, summary, label, p, li)')].filter((e) => e.checkVisibility() && e.getBoundingClientRect().right > given + 1 && !scrolls(e.parentElement));
        const fields = [...document.querySelectorAll('main .field input:not([type=file])')].filter((e) => e.checkVisibility({ opacityProperty: true }) && e.scrollWidth > e.clientWidth + 1);
        done(wide > 1 ? `${wide} px too wide` : acts.length || beyond.length ? `"${[...acts, ...beyond][0].textContent}" is cut off` : fields.length ? `the end of "${fields[0].value}" is not seen` : '');
      }))), page.viewport().width);
      if (over) fail(`${screen.split('?')[0]}: ${over}`);
    }
  };
  await check('letters of twice the size fit every screen', () => fits(() => page.evaluate(() => {
    document.documentElement.style.fontSize = '200%';
    for (const one of document.querySelectorAll('main details')) one.open = true;
    window.dispatchEvent(new Event('resize'));
  })));
  await check('every word of the fold-out is whole, in both tongues', async () => {
    for (const tongue of ['es', 'en']) {
      await page.evaluate((chosen) => localStorage.setItem('bowseam-language', chosen), tongue);
      for (const inside of ['', '&inside=1']) {
        await go(`field/fold_out.html?job=${unit}${inside}`);
        const cut = await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => {
          const [drawn, beside] = ['.fold svg text', '.fold .words > *'].map((what) => [...document.querySelectorAll(what)].map((e) => [e, e.getBoundingClientRect()]));
          const beyond = drawn.filter(([e, at]) => { const all = e.ownerSVGElement.getBoundingClientRect(); return at.left < all.left - 2 || at.right > all.right + 1; });
          const hidden = beside.filter(([e, at]) => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1 || at.right > innerWidth);
          done(drawn.length ? [...beyond, ...hidden].map(([e]) => e.textContent)[0] ?? '' : 'nothing is drawn');
        }))));
        if (cut) fail(`${tongue}: ${cut}`);
      }
    }
  });
  await check('the phone lying on its side', async () => {
    await page.setViewport({ ...UPRIGHT, width: 800, height: 360 });
    await fits(() => {});
  });
  await check('half of a split screen', async () => {
    await page.setViewport({ ...UPRIGHT, height: 380 });
    await fits(() => {});
  });

  await check('the keyboard comes up and the field stays in sight', async () => {
    await page.setViewport(UPRIGHT);
    await go(`field/arrival.html?job=${unit}`);
    const fields = await page.$$('main input:not([type=radio]):not([type=checkbox]):not([type=file]), main textarea');
    const shown = [];
    for (const field of fields) if (await field.isVisible()) shown.push(field);
    for (const field of [shown[0], shown[Math.floor(shown.length / 2)], shown.at(-1)]) {
      await page.setViewport(UPRIGHT);
      await field.evaluate((e) => { e.scrollIntoView({ block: 'end' }); e.focus({ preventScroll: true }); });
      await page.setViewport({ ...UPRIGHT, height: 420 });
      await page.waitForFunction((e) => {
        const { top, bottom } = e.getBoundingClientRect();
        const fixed = (name) => { const part = document.querySelector(name); return getComputedStyle(part).position === 'sticky' ? part.getBoundingClientRect() : null; };
        return top >= (fixed('.head')?.bottom ?? 0) - 1 && bottom <= (fixed('.tray')?.top ?? window.innerHeight) + 1;
      }, { timeout: 5000 }, field).catch(() => fail('a field lies under the keyboard, the header or the tray'));
    }
    await page.setViewport(UPRIGHT);
  });

  await check('another time zone and a clock that is wrong by two days', async () => {
    await page.emulateTimezone('Pacific/Kiritimati');
    await page.evaluateOnNewDocument(() => {
      const real = Date.now;
      const off = Number(sessionStorage.getItem('off') ?? 0);
      Date.now = () => real() + off;
    });
    await page.evaluate(() => sessionStorage.setItem('off', String(-2 * 86_400_000)));
    for (const screen of screens) await go(screen);
    await page.evaluate(() => sessionStorage.removeItem('off'));
    await page.emulateTimezone();
  });
  if (wrong.length) fail(`a page says: ${wrong[0]}`);

  // The shell's bridge as the page sees it; asks go to the program, what the phone gives is made here.
  await page.exposeFunction('phoneGives', (want) => gives(want));
  await page.evaluateOnNewDocument((address) => {
    window.bowseamEdges = { sides: () => '[30,0,24,0]' };
    window.__TAURI__ = {
      core: {
        convertFileSrc: (name) => name,
        invoke: async (name, body) => {
          if (name === 'phone') {
            const { given, refused } = await window.phoneGives(body.want);
            if (refused) throw refused;
            return given;
          }
          const answer = await fetch(`${address}ask`, { method: 'POST', headers: { bowseam: '1', 'content-type': 'application/json' }, body: JSON.stringify(body.ask) });
          const said = await answer.json();
          if (!answer.ok) throw said;
          return said;
        },
      },
    };
  }, base);
  let wanted = [];
  let gives = () => ({ given: { what: 'done' } });
  const phone = (answer) => { wanted = []; gives = (want) => { wanted.push(want); return answer(want); }; };

  await check('a photo is asked of the phone, with what it is of', async () => {
    phone(() => ({ given: { what: 'photos', kept: 1, wrong: [] } }));
    await go(`field/arrival.html?job=${unit}`);
    if (await page.$('input[type=file]')) fail('there is a file field beside the phone’s camera');
    await tap('[data-act=camera]');
    await has('1 photo of 1 kept');
    const { what, ask } = wanted.find((want) => want.what === 'camera') ?? {};
    if (what !== 'camera' || ask.kind !== 'add_photo' || ask.job !== unit || ask.of.of !== 'unit') fail(`asked was ${JSON.stringify(wanted)}`);
  });
  await check('a refused camera says what to do and leaves the gallery', async () => {
    phone((want) => (want.what === 'camera' ? { refused: { code: 'camera_refused', sentence: 'The camera was refused. Choose a photo from the gallery.', field: null } } : { given: { what: 'photos', kept: 2, wrong: ['a.heic: This phone cannot decode the photo either.'] } }));
    await tap('[data-act=camera]');
    await has('The camera was refused.');
    await tap('[data-act=gallery]');
    await has('2 photos of 3 kept');
    await has('This phone cannot decode the photo either.');
  });
  await check('the screen stays on while a step runs and not after', async () => {
    phone(() => ({ given: { what: 'done' } }));
    const running = await page.evaluate(async (address) => {
      const ask = async (body) => (await fetch(`${address}ask`, { method: 'POST', headers: { bowseam: '1', 'content-type': 'application/json' }, body: JSON.stringify(body) })).json();
      const yard = await ask({ kind: 'yard' });
      for (const row of yard.jobs ?? yard.rows ?? []) {
        const steps = await ask({ kind: 'steps', job: row.job ?? row.id });
        const step = steps.steps?.find((one) => !one.done);
        if (step && !steps.shut) return { job: row.job ?? row.id, step: step.key, on: Boolean(step.on_since) };
      }
      return null;
    }, base);
    if (!running) fail('the demo yard has no open step');
    const turn = (on) => page.evaluate((address, body) => fetch(`${address}ask`, { method: 'POST', headers: { bowseam: '1', 'content-type': 'application/json' }, body: JSON.stringify(body) }).then((r) => r.json()), base, { kind: 'step_time', job: running.job, step: running.step, on });
    if (!running.on) await turn(true);
    await go(`field/steps.html?job=${running.job}`);
    if (!wanted.some((want) => want.what === 'awake' && want.on)) fail('it was not asked to stay on');
    await turn(false);
    await go(`field/steps.html?job=${running.job}`);
    if (wanted.filter((want) => want.what === 'awake').at(-1).on) fail('it still stays on');
  });
  await check('a packet is shared, not printed', async () => {
    phone(() => ({ given: { what: 'done' } }));
    await go(`field/packet.html?job=${unit}`);
    const acts = await page.$$eval('.acts .act', (all) => all.map((act) => act.textContent));
    if (acts.some((words) => /print/i.test(words))) fail(`the tray offers ${acts.join(', ')}`);
    await tap('.acts button.main');
    await page.waitForFunction(() => true);
    for (let tries = 0; tries < 50 && !wanted.some((want) => want.what === 'share'); tries += 1) await new Promise((done) => setTimeout(done, 100));
    const shared = wanted.find((want) => want.what === 'share');
    if (!shared?.name.endsWith('.html') || !shared.text.includes('<')) fail('nothing was shared');
  });
  await check('the Outbox says how much room there is and what the network costs', async () => {
    phone(() => ({ given: { what: 'state', free: 3_221_225_472, metered: true, saver: true, reader: false } }));
    await go('field/outbox.html');
    await has('Free on this phone: 3');
    await has('it sends only while the app is open');
    phone(() => ({ refused: { code: 'phone', sentence: 'The phone did not answer.', field: null } }));
    await go('field/outbox.html');
    await has('Outbox');
  });
  await check('a position and a barcode are asked for by a press alone', async () => {
    phone((want) => ({ given: want.what === 'position' ? { what: 'position', latitude: 41.25, longitude: -95.9, within: 7.2 } : { what: 'text', text: 'I1M8GDM9AXKP042788' } }));
    await go('field/arrival.html');
    await page.type('main input', 'P 77');
    await tap('.acts .main');
    await page.waitForSelector('[data-key=phone-slot]', { timeout: 20_000 });
    if (wanted.length) fail('something was asked for unasked');
    await tap('[data-key=phone-slot]');
    await page.waitForFunction(() => document.querySelector('[data-key=arrival-slot] :is(input, textarea)')?.value === '41.25000 N, 95.90000 W, within 8 m', { timeout: 10_000 });
    await tap('[data-key=phone-vin]');
    await page.waitForFunction(() => document.querySelector('[data-key=arrival-vin] :is(input, textarea)')?.value === '1M8GDM9AXKP042788', { timeout: 10_000 });
  });
  await check('what the bars cover is kept free', async () => {
    await go('field/yard.html');
    const [top, bottom] = await page.evaluate(() => [getComputedStyle(document.querySelector('.head')).paddingTop, getComputedStyle(document.querySelector('.tray')).paddingBottom]);
    if (top !== '38px' || bottom !== '32px') fail(`header ${top}, tray ${bottom}`);
  });
  if (wrong.length) fail(`a page says: ${wrong[0]}`);

  // A break each, in what the program serves: the checks above have to see it.
  await page.setViewport(UPRIGHT);
  await page.setRequestInterception(true);
  await page.setCacheEnabled(false);
  let broken = ['nothing'];
  page.on('request', async (request) => {
    const [file, old, other] = broken;
    if (!request.url().endsWith(file)) return request.continue();
    const served = await fetch(request.url());
    const text = await served.text();
    if (!text.includes(old)) console.log(`screens: nothing to break in ${file}`);
    return request.respond({ status: 200, headers: Object.fromEntries(served.headers), body: text.replace(old, other) });
  });
  for (const [what, ...one] of BREAKS) {
    broken = one;
    const caught = await Promise.resolve(checks[what]()).then(() => '', (error) => error.message);
    broken = ['nothing'];
    if (!caught) fail(`not caught: a break in ${one[0]}`);
    console.log(`screens, a break in ${one[0]} (${what}): caught (${caught.slice(0, 80)})`);
  }
}

try {
  await run();
  console.log(`screens: all ${Object.keys(checks).length} with a phone's name, a finger and a slow processor`);
} catch (error) {
  console.log(`screens: FAILED, ${told}: ${error.message}`);
  process.exitCode = 1;
} finally {
  await browser.close();
  program.kill('SIGINT');
}
