/**
 * The grid of photos under a finger. Called by tests/bench/photo_grid with the folder of node_modules, the program and
 * the number of photos. Each photo is a picture of its own, drawn in the page and brought in through the door.
 */
import { spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import { createInterface } from 'node:readline';

const [tools, bowseam, many] = [process.argv[2], process.argv[3], Number(process.argv[4])];
const puppeteer = createRequire(resolve(tools, 'x.js'))('puppeteer-core');
/** Pixels a second: a fast flick. */
const SPEED = 3000;
/** How far a finger goes in one stroke, pixels. */
const STROKE = 640;

const program = spawn(bowseam, ['--no-browser'], { stdio: ['ignore', 'pipe', 'inherit'] });
const base = await new Promise((done, failed) => {
  createInterface({ input: program.stdout }).on('line', (line) => line.startsWith('ready ') && done(line.slice(6).trim()));
  program.on('exit', () => failed(new Error('the program ended before it was ready')));
});
const browser = await puppeteer.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'] });
try {
  await measure();
} finally {
  await browser.close();
  program.kill();
}

async function measure() {
  const page = await browser.newPage();
  await page.setViewport({ width: 360, height: 800, deviceScaleFactor: 2, isMobile: true, hasTouch: true });
  await page.goto(`${base}field/signin.html`);
  const job = await page.evaluate(fill, many);
  await page.emulateCPUThrottling(4);
  const begun = Date.now();
  await page.goto(`${base}field/photos.html?job=${job}`);
  await page.waitForFunction((n) => document.querySelectorAll('.grid li').length === n, { timeout: 60_000 }, many);
  const open = Date.now() - begun;
  const at = (/** @type {string} */ when) => page.evaluate((words) => {
    const pictures = [...document.images].filter((image) => image.complete && image.naturalWidth > 0);
    return `${words}, at ${Math.round(scrollY)} of ${document.documentElement.scrollHeight} px: ${document.querySelectorAll('*').length} elements, ${pictures.length} pictures loaded`;
  }, when);
  console.log(`${many} photos: the page is there after ${open} ms`);
  console.log(await at('at the top'));
  const client = await page.createCDPSession();
  const before = await page.metrics();
  const down = await scrolled(page, client, -1);
  console.log(await at('after the way down'));
  const up = await scrolled(page, client, 1);
  const after = await page.metrics();
  const took = (/** @type {string} */ name) => `${((after[`${name}Duration`] - before[`${name}Duration`]) * 1000).toFixed(0)} ms`;
  console.log(`while it was scrolled: layout ${took('Layout')}, style ${took('RecalcStyle')}, script ${took('Script')}, all of the page's thread ${took('Task')}; heap of the scripts ${(after.JSHeapUsedSize / 1e6).toFixed(1)} MB`);
  const all = [...down, ...up].sort((a, b) => a - b);
  const share = (/** @type {number} */ part) => all[Math.min(all.length - 1, Math.floor(all.length * part))];
  console.log(`${all.length} frames: middle ${share(0.5).toFixed(1)} ms, 95 of 100 within ${share(0.95).toFixed(1)} ms, 99 within ${share(0.99).toFixed(1)} ms, worst ${share(1).toFixed(1)} ms; ${all.filter((ms) => ms > 50).length} over 50 ms`);
  console.log(`photo_grid: ${share(0.95).toFixed(1)} = 95th percentile in ms of the time between two frames while ${many} photos are scrolled through at ${SPEED} px a second, processor 4 times slower`);
}

/** Scrolls from one end to the other as a finger does; the time between frames. */
async function scrolled(page, client, way) {
  const far = await page.evaluate(() => document.documentElement.scrollHeight);
  await page.evaluate(() => {
    window.frames_ = [];
    let last = performance.now();
    const frame = (now) => {
      window.frames_.push(now - last);
      last = now;
      window.going = requestAnimationFrame(frame);
    };
    window.going = requestAnimationFrame(frame);
  });
  for (let gone = 0; gone < far; gone += STROKE) await stroke(client, way);
  return page.evaluate(() => {
    cancelAnimationFrame(window.going);
    return window.frames_.slice(1);
  });
}

/** One stroke of a finger over most of the screen, up or down. */
async function stroke(client, way) {
  const from = way < 0 ? 720 : 80;
  const touch = (type, y) => client.send('Input.dispatchTouchEvent', { type, touchPoints: y === null ? [] : [{ x: 180, y }] });
  await touch('touchStart', from);
  const begun = performance.now();
  for (let gone = 0; gone < STROKE;) {
    gone = Math.min(STROKE, ((performance.now() - begun) / 1000) * SPEED);
    await touch('touchMove', from + way * gone);
    await new Promise((done) => { setTimeout(done, 12); });
  }
  await touch('touchEnd', null);
}

/** In the page: a job with so many photos. */
async function fill(many) {
  const { ask, askFor } = await import('/parts/ask.js');
  const { people } = await askFor('hello', { kind: 'hello' });
  const who = people.find((person) => person.roles.includes('technician')) ?? people[0];
  await ask({ kind: 'sign_in', person: who.id, pin: '1234' });
  const { id } = await ask({ kind: 'open_job', unit: '3000' });
  const canvas = new OffscreenCanvas(640, 480);
  const pen = canvas.getContext('2d');
  for (let n = 0; n < many; n += 1) {
    for (let spot = 0; spot < 60; spot += 1) {
      pen.fillStyle = `hsl(${(n * 37 + spot * 11) % 360} 40% ${20 + (spot * 7) % 60}%)`;
      pen.fillRect((spot * 97 + n * 13) % 640, (spot * 61) % 480, 160, 120);
    }
    pen.fillStyle = '#fff';
    pen.font = '120px sans-serif';
    pen.fillText(String(n), 200, 260);
    const photo = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.85 });
    await ask({ kind: 'add_photo', job: id, of: { of: 'unit' }, when: ['before', 'during', 'after'][n % 3], name: `${n}.jpg` }, photo);
  }
  return id;
}
