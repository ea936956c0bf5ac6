/**
 * The frame of every screen: header (way to other screens, unit, saved mark, Undo), warnings that must stay in
 * view, the body, and the tray with the main act at the bottom. It loads the view, draws it, and draws it again
 * after each change without moving what is under the finger or losing what is being typed.
 */
import { Refused, ask, askFor, atOffice, shell, takeSaved } from './ask.js';
import { backCloses, watchBack } from './back.js';
import { forget, lengthKeys } from './fields.js';
import { clashBanner } from './clash.js';
import { local, make, replace } from './make.js';
import { keepEdgesFree } from './phone.js';
import { day, knows, say, when, wordOf, words } from './words.js';

/** @typedef {import('./types/Head.ts').Head} Head */
/** @typedef {import('./types/Hello.ts').Hello} Hello */
/** @typedef {{label: string, act?: () => unknown, main?: boolean, href?: string, disabled?: boolean, key?: string, id?: string}} Act */
/** @typedef {{title: string | ((view: any) => string), load: (job: string) => Promise<any>, draw: (view: any, body: HTMLElement) => void, tray?: (view: any) => Act[], lengths?: (view: any) => boolean, open?: boolean}} Screen */

/** The job of this screen, from its address. */
export const job = () => param('job');
/** A value from this screen's address, or nothing. @param {string} name */
export const param = (name) => new URLSearchParams(location.search).get(name) ?? '';

/** Screens of one job, in the order of the work. */
const SCREENS = ['arrival', 'fold_out', 'ways', 'figures', 'cut_list', 'buying', 'roof_off', 'steps', 'proof', 'handover', 'photos'];
/** Fields that a person types into. */
const TYPED = 'textarea, input:not([type=radio]):not([type=checkbox]):not([type=file])';
/** How often a picture is asked for again, and how much longer each time, until its copy is made. */
const [COPY_TIMES, COPY_MS] = [12, 150];
/** How long after the finger is off its tap comes at most. */
const TAP_MS = 80;
/** How often an open page looks whether something came from somebody else. */
const LOOK_MS = 5000;
/** Screens beside the jobs. */
const BESIDE = ['yard', 'outbox', 'shop_book'];
/** Pages of the office. */
const OFFICE = ['list', 'people', 'phones', 'learn'];

/** @type {Screen | null} */
let screen_ = null;
/** @type {Hello | null} */
let greeted = null;
/** @type {any} */
let last = null;
let busy = false;
/** When the last act was through and drawn. */
let through = 0;
/** The button that was tapped last. @type {HTMLButtonElement | null} */
let tapped = null;
/** A finger is on the page, from its touching down until its tap is through. */
let touched = false;
/** The page is drawn again as soon as the finger is off: a tap on what is taken away under it would be lost. */
let redrawLater = false;

/** Who is here, as the core said when this screen opened. */
export const hello = () => /** @type {Hello} */ (greeted);

const parts = {
  header: make('header', { class: 'head' }),
  banners: make('section', { class: 'banners' }),
  main: make('main', { class: 'body', attrs: { id: 'body' } }),
  tray: make('div', { class: 'tray', attrs: { role: 'region' } }),
  wrong: make('p', { class: 'wrong', attrs: { role: 'alert' } }),
  told: make('p', { class: 'told', attrs: { role: 'status' } }),
  keys: make('div', { class: 'keys' }),
  acts: make('div', { class: 'acts' }),
  saved: make('p', { class: 'saved', attrs: { 'aria-live': 'polite' } }),
};

/**
 * Starts a screen.
 * @param {Screen} screen `load` gives the view, `draw` fills the body, `tray` lists the acts of the tray;
 *   `lengths` says that there are length fields, so that the tray shows their keys; `open` needs nobody signed in.
 */
export async function start(screen) {
  screen_ = screen;
  document.head.append(make('link', { attrs: { rel: 'icon', href: new URL('icon.svg', import.meta.url).href } }));
  await words();
  const skip = make('a', { class: 'skip', text: say('page.skip'), attrs: { href: '#body' } });
  parts.tray.setAttribute('aria-label', say('page.tray'));
  parts.banners.setAttribute('aria-label', say('page.state'));
  replace(parts.tray, parts.wrong, parts.told, parts.keys, parts.acts);
  replace(document.body, skip, parts.header, parts.banners, parts.main, parts.tray);
  replace(parts.banners, make('p', { class: 'waits', text: say('page.opening') }));
  keepEdgesFree();
  watchBack();
  watchRoom();
  document.addEventListener('visibilitychange', () => document.hidden && letGo());
  watchFinger();
  document.addEventListener('click', watchTap, true);
  setInterval(lookForNew, LOOK_MS);
  document.addEventListener('visibilitychange', lookForNew);
  if (shell()) document.addEventListener('error', copyAgain, true);
  await refresh();
}

/**
 * The tray and the header never cover what has the focus: the page keeps that much room when it scrolls. With
 * large text or a low window they scroll with the page instead of taking the most of it.
 */
function watchRoom() {
  const letters = () => parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
  let drawn = letters();
  const room = () => {
    const rem = letters();
    // Letters of another size: what was drawn by their size is drawn anew.
    if (rem !== drawn && last) redraw();
    drawn = rem;
    document.body.classList.toggle('large-text', window.innerWidth < 20 * rem);
    document.body.classList.toggle('low', window.innerHeight < 26 * rem);
    const fixed = (/** @type {HTMLElement} */ e) => (getComputedStyle(e).position === 'sticky' ? e.offsetHeight : 0);
    document.documentElement.style.scrollPaddingTop = `${fixed(parts.header) + 8}px`;
    document.documentElement.style.setProperty('--head', `${fixed(parts.header)}px`);
    document.documentElement.style.scrollPaddingBottom = `${fixed(parts.tray) + 8}px`;
  };
  const observer = new ResizeObserver(room);
  observer.observe(parts.header);
  observer.observe(parts.tray);
  window.addEventListener('resize', room);
  // The keyboard came up: what is typed into stays in sight.
  window.visualViewport?.addEventListener('resize', () => document.activeElement?.matches(TYPED) && document.activeElement.scrollIntoView({ block: 'nearest' }));
}

/** A field with the focus saves when the app is left, as the phone may never come back to it. */
function letGo() {
  const field = document.activeElement;
  if (field?.matches(TYPED)) field.dispatchEvent(new Event('change', { bubbles: true }));
}

/** A picture whose copy is still being made is asked for again. @param {Event} event */
function copyAgain({ target }) {
  if (!(target instanceof HTMLImageElement)) return;
  const times = Number(target.dataset['again'] ?? 0) + 1;
  target.dataset['again'] = String(times);
  if (times > COPY_TIMES) return;
  // Not the same address: a web view may hold on to its failure.
  const address = new URL(target.src);
  address.searchParams.set('again', String(times));
  setTimeout(() => { if (target.isConnected) target.src = address.href; }, COPY_MS * times);
}

function watchFinger() {
  let timer = 0;
  const off = (/** @type {number} */ ms) => { clearTimeout(timer); timer = setTimeout(fingerOff, ms); };
  document.addEventListener('pointerdown', () => { clearTimeout(timer); touched = true; }, true);
  // The tap itself comes a little after the finger is off.
  for (const name of ['pointerup', 'pointercancel']) document.addEventListener(name, () => off(TAP_MS), true);
  document.addEventListener('click', () => off(0));
}

/** A tap from before the last act was through was meant for the page as it was then: it does nothing twice. @param {MouseEvent} event */
function watchTap(event) {
  tapped = event.target instanceof Element ? event.target.closest('button') : null;
  if (tapped && parts.main.contains(tapped) && event.timeStamp < through) event.stopImmediatePropagation();
}

function fingerOff() {
  touched = false;
  if (redrawLater) redraw();
}

/** How often the view was loaded; a field that saved need not load it again when its own saving has. */
export let loaded = 0;

/** Loads the view again and draws it. */
export async function refresh() {
  loaded += 1;
  const mine = loaded;
  const screen = screen_;
  if (!screen) return;
  try {
    greeted = await askFor('hello', { kind: 'hello' });
    if (!greeted.signed_in && !screen.open) return toSignIn();
    const view = await screen.load(job());
    // A later load is on its way or done: this one is out of date.
    if (mine !== loaded) return;
    last = view;
    redraw();
  } catch (error) {
    if (error instanceof Refused && error.code === 'sign_in') return toSignIn();
    // Whatever goes wrong here, the page says so and offers another try; nothing that was saved is touched by it.
    showWrong(error instanceof Refused ? error.sentence : say('page.broken', { what: String(error) }));
    if (!(error instanceof Refused)) console.error(error);
    if (last && parts.main.hasChildNodes()) return;
    replace(parts.banners);
    drawHeader(screen, null);
    drawTray([{ label: say('page.again'), act: () => {}, main: true }]);
  }
}

/** What came from somebody else since the page was drawn is taken in: an answer of the office, another one's entry. */
async function lookForNew() {
  if (document.hidden || busy || touched || !last || !greeted) return;
  const before = loaded;
  try {
    const { newest } = await askFor('hello', { kind: 'hello' });
    // What this page saves itself it loads itself.
    if (newest !== greeted.newest && loaded === before && !busy && !touched) await refresh();
  } catch (error) {
    // It is looked for again: nothing was asked for by a person.
    if (!(error instanceof Refused)) throw error;
  }
}

/** Draws the view that is there, after something that only the screen itself knows has changed. */
export function redraw() {
  const screen = screen_;
  redrawLater = touched;
  if (!screen || touched) return;
  drawHeader(screen, last);
  drawBanners(last);
  drawKeys(screen.lengths ? screen.lengths(last) : false);
  drawTray(screen.tray ? screen.tray(last) : []);
  const fresh = make('main');
  screen.draw(last, fresh);
  const top = window.scrollY;
  swap(parts.main, fresh);
  window.scrollTo(0, top);
}

function toSignIn() {
  const back = location.pathname.split('/').pop() + location.search;
  location.replace(`signin.html?to=${encodeURIComponent(back)}`);
}

/**
 * Puts the new children in place of the old, but leaves the field in which somebody is typing where it is, and
 * gives the focus back to what had it.
 * @param {Element} old @param {Element} fresh
 */
function swap(old, fresh) {
  const active = document.activeElement;
  const field = active?.closest('[data-field]');
  const typing = field && old.contains(field) && active?.matches(TYPED);
  const key = active?.closest('[data-key]')?.getAttribute('data-key');
  const had = active && old.contains(active);
  const open = new Map([...old.querySelectorAll('details[data-key]')].map((d) => [d.getAttribute('data-key'), /** @type {HTMLDetailsElement} */ (d).open]));
  for (const d of fresh.querySelectorAll('details[data-key]')) {
    const was = open.get(d.getAttribute('data-key'));
    if (was !== undefined) /** @type {HTMLDetailsElement} */ (d).open = was;
  }
  if (typing && around(old, fresh, field)) return;
  replace(old, [...fresh.childNodes]);
  if (!had || !key) return;
  const again = old.querySelector(`[data-key="${CSS.escape(key)}"]`);
  const target = again?.matches('a, button, input, textarea, summary, [tabindex]') ? again : again?.querySelector('input:checked, input, button, summary, a, textarea');
  if (target instanceof HTMLElement) target.focus({ preventScroll: true });
}

/**
 * Replaces everything around `field` on the way down to it; false if the new page has no such place.
 * @param {Element} old @param {Element} fresh @param {Element} field
 * @returns {boolean}
 */
function around(old, fresh, field) {
  const kept = [...old.children].find((c) => c.contains(field));
  const key = kept?.getAttribute('data-key');
  const match = key && [...fresh.children].find((c) => c.getAttribute('data-key') === key);
  // Not on the new page any more, as the reason of a value that fits now: nobody types on into it.
  if (match instanceof HTMLElement && match.hidden) return false;
  if (!kept || !match || (kept !== field && !around(kept, match, field))) return false;
  for (const child of [...old.childNodes]) if (child !== kept) old.removeChild(child);
  const all = [...fresh.childNodes];
  const at = all.indexOf(match);
  for (const child of all.slice(0, at)) old.insertBefore(child, kept);
  for (const child of all.slice(at + 1)) old.appendChild(child);
  return true;
}

/** @param {Screen} screen @param {any} view */
function drawHeader(screen, view) {
  /** @type {Head | undefined} */
  const head = view?.head;
  // A view that could not be had names no title.
  const given = typeof screen.title === 'function' ? (view ? screen.title(view) : '') : screen.title;
  const title = knows(given) ? say(given) : given;
  document.title = head ? `${head.unit} · ${title}` : title;
  parts.saved.textContent = head?.saved ? say(atOffice() ? 'page.saved_office' : 'page.saved', { at: when(head.saved).replace(/\s/g, '\u00a0') }) : '';
  parts.saved.hidden = !head;
  const undo = head?.undo
    ? make('button', { class: 'small', key: 'undo', text: say('page.undo'), attrs: { type: 'button', title: head.undo, 'aria-label': say('page.undo_what', { what: head.undo }) }, on: { click: () => run(() => undone(head)) } })
    : make('span', { class: 'small none' });
  const had = document.activeElement?.getAttribute('data-key');
  replace(parts.header,
    make('button', { class: 'small', key: 'goto', text: say('page.goto'), attrs: { type: 'button', 'aria-haspopup': 'dialog' }, on: { click: () => goTo(head) } }),
    make('div', { class: 'title' }, make('h1', { text: head ? `${head.unit} · ${title}` : title }), parts.saved),
    undo);
  if (had === 'undo' || had === 'goto') /** @type {HTMLElement | null} */ (parts.header.querySelector(`[data-key=${had}]`))?.focus();
}

/** @param {Head} head */
async function undone(head) {
  await ask({ kind: 'undo', job: head.job });
  forget();
  tell(say('page.undone', { what: head.undo ?? '' }));
}

/** Says something above the tray until the next act, also to a screen reader. @param {string} text */
export function tell(text) {
  parts.told.textContent = local(text);
}

/** @param {any} view */
function drawBanners(view) {
  /** @type {Head | undefined} */
  const head = view?.head;
  if (!head) return replace(parts.banners);
  const hold = head.hold && say('page.hold', { why: wordOf('hold', head.hold.why), note: head.hold.note });
  replace(parts.banners,
    make('p', { class: 'waits' }, make('b', { text: wordOf('stage', head.stage) }), [head.waits_for ? ` · ${say('page.waits', { what: head.waits_for })}` : '', head.promise ? ` · ${say('page.promised', { day: day(head.promise) })}` : '']),
    head.not_seen ? make('p', { class: 'banner', text: say('page.not_seen', { seal: head.not_seen }) }) : null,
    head.roll_doubt ? make('a', { class: 'banner', text: head.roll_doubt, attrs: { href: `../field/arrival.html?job=${head.job}` } }) : null,
    hold ? make('p', { class: 'banner', text: hold }) : null,
    head.clashes.map((words) => clashBanner(head, words)));
}

/** @param {Head | undefined} head */
function goTo(head) {
  const here = location.pathname.split('/').pop()?.replace('.html', '');
  const link = (/** @type {string} */ name, /** @type {string} */ query) =>
    make('li', null, make('a', { text: say(`screen.${name}`), attrs: { href: `${name}.html${query}`, 'aria-current': name === here ? 'page' : null } }));
  const beside = atOffice() ? OFFICE : BESIDE;
  // Where no roof comes off its check is not in the way.
  const mine = head && !atOffice() ? SCREENS.filter((name) => name !== 'roof_off' || head.opens_roof) : [];
  showDialog(say('page.goto_title'),
    mine.length && head ? make('ul', { class: 'places' }, mine.map((name) => link(name, `?job=${head.job}`))) : null,
    make('ul', { class: 'places' }, beside.map((name) => link(name, '')),
      make('li', null, make('button', { text: say('page.sign_out', { who: me() }), attrs: { type: 'button' }, on: { click: async () => { await ask({ kind: 'sign_out' }); location.replace('signin.html'); } } }))));
}

/** Name of who is signed in. */
export const me = () => greeted?.people.find((p) => p.id === greeted?.signed_in)?.name ?? '';

/** Somebody who only inspects goes on marking, and then to the next unit. */
export const onlyInspects = () => {
  const roles = greeted?.people.find((p) => p.id === greeted?.signed_in)?.roles ?? [];
  return roles.length > 0 && roles.every((role) => role === 'inspector');
};

/**
 * Opens a dialog over the page with a Close button; closed it is gone.
 * @param {string} title
 * @param {...(import('./make.js').Child | import('./make.js').Child[])} children
 * @returns {HTMLDialogElement}
 */
export function showDialog(title, ...children) {
  const dialog = make('dialog', { class: 'over', attrs: { 'aria-label': title } });
  const close = make('button', { text: say('page.close'), attrs: { type: 'button' }, on: { click: () => dialog.close() } });
  replace(dialog, make('div', { class: 'over-head' }, make('h2', { text: title }), close), ...children);
  dialog.addEventListener('close', () => dialog.remove());
  document.body.appendChild(dialog);
  dialog.showModal();
  backCloses(dialog);
  return dialog;
}

/** Keys that a number pad lacks, always at the same place while a screen has length fields. @param {boolean} wanted */
function drawKeys(wanted) {
  if (!wanted) return replace(parts.keys);
  if (!parts.keys.firstChild) replace(parts.keys, lengthKeys());
}

/** @param {Act[]} acts */
function drawTray(acts) {
  const had = document.activeElement && parts.acts.contains(document.activeElement) ? document.activeElement.getAttribute('data-key') : null;
  replace(parts.acts, acts.map((act) => {
    const key = act.key ?? act.label;
    const look = act.main ? 'act main' : 'act';
    if (act.href) return make('a', { class: look, key, text: act.label, attrs: { href: act.href, id: act.id } });
    const button = make('button', { class: look, key, text: act.label, attrs: { type: 'button', id: act.id }, on: { click: () => run(act.act ?? (() => {})) } });
    button.disabled = act.disabled === true;
    return button;
  }));
  if (had) /** @type {HTMLElement | null} */ (parts.acts.querySelector(`[data-key="${CSS.escape(had)}"]`))?.focus({ preventScroll: true });
}

/**
 * Does something once (a second tap while it runs does nothing), then loads the view again. What was saved, or why it
 * was refused, is said above the tray: there it is seen wherever on a long page the tap was. An act says more itself by
 * {@link tell}, and may give back what is to be done once the page is drawn again.
 * @param {() => unknown} act
 */
export async function run(act) {
  if (busy) return;
  busy = true;
  const button = tapped;
  tapped = null;
  waits(button, true);
  showWrong('');
  tell('');
  takeSaved();
  try {
    const after = await act();
    await refresh();
    if (typeof after === 'function') after();
    const what = takeSaved();
    if (what && !parts.told.textContent) tell(say('page.saved_what', { what }));
  } catch (error) {
    if (error instanceof Refused && error.code === 'sign_in') return toSignIn();
    showWrong(error instanceof Refused ? error.sentence : say('page.broken', { what: String(error) }));
    if (!(error instanceof Refused)) console.error(error);
  } finally {
    busy = false;
    through = performance.now();
    waits(button, false);
  }
}

/**
 * A button whose act runs says so at once, and is not tapped twice. It keeps the focus, as one that is disabled would not.
 * @param {HTMLButtonElement | null} button @param {boolean} on
 */
function waits(button, on) {
  parts.main.setAttribute('aria-busy', String(on));
  if (!button) return;
  button.setAttribute('aria-disabled', String(on));
  button.classList.toggle('runs', on);
}

/** A sentence above the tray, or nothing. @param {string} sentence */
export function showWrong(sentence) {
  parts.wrong.textContent = local(sentence);
}
