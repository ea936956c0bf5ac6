/**
 * Photos of a unit, a mark, a step or a found more: small copies that open large, and two ways to bring new ones
 * in, on a desk two more: dropped on the strip, or pasted. Originals are handed over one by one, untouched; one that is
 * refused says why and the others go on. What was stopped can go on while the page is open.
 */
import { Refused, ask, askFor, photoUrl } from './ask.js';
import { make, replace } from './make.js';
import { picture } from './over.js';
import { onPhone, waysIn } from './phone.js';
import { refresh, run, showDialog, tell } from './page.js';
import { bytes, say, when as sayWhen } from './words.js';

/** @typedef {import('./types/Ask.ts').Ask} Ask */
/** @typedef {import('./types/Photo.ts').Photo} Photo */
/** @typedef {import('./types/PhotoOf.ts').PhotoOf} PhotoOf */
/** @typedef {import('./types/PhotoWhen.ts').PhotoWhen} PhotoWhen */
/** @typedef {import('./types/UnitView.ts').UnitView} UnitView */
/** @typedef {{words: string, wrong: string[], stop: boolean, running: boolean, rest: File[], tell: () => void}} Import */

/** Names of refused files that stand in one line. */
const MOST_NAMES = 5;

/** Imports that run or ended with a refusal, by strip: they outlive a redraw. @type {Map<string, Import>} */
const imports = new Map();

/**
 * A strip of photos with its two ways in; without `job` it only shows.
 * @param {{photos: Photo[], of: PhotoOf, when: PhotoWhen, job?: string, wanted?: string | null, title?: string}} strip
 * @returns {HTMLElement}
 */
export function photoStrip({ photos, of, when, job, wanted, title }) {
  const key = `photos-${JSON.stringify(of)}-${when}`;
  const state = imports.get(key) ?? { words: '', wrong: [], stop: false, running: false, rest: [], tell: () => {} };
  imports.set(key, state);
  const told = make('div', { class: 'import', attrs: { 'aria-live': 'polite' } });
  // An import that runs tells the strip that is on the page now, not the one it began in.
  state.tell = () => replace(told,
    state.words ? make('p', null, state.words) : null,
    state.running ? make('button', { text: say('photos.stop'), attrs: { type: 'button' }, on: { click: () => { state.stop = true; } } }) : null,
    job && !state.running && state.rest.length ? make('button', { text: say('photos.go_on', { n: state.rest.length }), attrs: { type: 'button' }, on: { click: () => { void bringIn(job, of, when, state.rest, state); } } }) : null,
    state.wrong.map((sentence) => make('p', { class: 'wrong', text: sentence })));
  state.tell();
  const take = async (/** @type {File[]} */ files) => {
    if (job && files.length > 0 && !state.running) await bringIn(job, of, when, files, state);
  };
  const way = (/** @type {string} */ word, /** @type {Record<string, string | boolean>} */ more) => {
    // With `capture` a phone's camera opens for exactly this type alone.
    const input = make('input', { attrs: { type: 'file', accept: more.capture ? 'image/*' : 'image/*,.heic,.heif', ...more, 'data-act': more.capture ? 'camera' : 'gallery' } });
    input.addEventListener('change', () => {
      const files = [...(input.files ?? [])];
      input.value = '';
      void take(files);
    });
    return make('label', { class: 'act file', key: `${key}-${word}` }, input, make('span', { text: say(word) }));
  };
  const strip = make('section', { class: 'photos', key, attrs: { 'aria-label': title ?? say(`photos.${when}`) } },
    title ? make('h2', { class: 'minor', text: title }) : null,
    wanted ? make('p', { class: 'hint', text: wanted }) : null,
    photos.length > 0 ? make('ul', { class: 'strip' }, photos.map((photo, at) => make('li', null, small(photo, () => large(photos, at, job))))) : null,
    placed(photos, job),
    job ? make('div', { class: 'ways-in' }, onPhone() ? waysIn((name) => ({ kind: 'add_photo', job, of, when, name }), (kept, wrong) => toldOf(state, kept, wrong)) : [way('photos.take', { capture: 'environment' }), way('photos.gallery', { multiple: true })]) : null,
    job ? make('p', { class: 'hint desk', text: say('photos.desk') }) : null,
    told,
    job && of.of === 'unit' && when !== 'during' ? viewPart(photos, job) : null);
  if (job) dropped(strip, take);
  return strip;
}

/** Views of the whole unit: corners, roof and inside are wanted, the sides beside them. @type {UnitView[]} */
const VIEWS = ['nose_roadside', 'nose_curbside', 'rear_roadside', 'rear_curbside', 'roof', 'inside', 'nose', 'rear', 'roadside', 'curbside'];

/** One tap a view. @param {UnitView[]} views @param {string} key @param {(view: UnitView) => unknown} put @param {UnitView | null} [now] */
const viewButtons = (views, key, put, now) => make('div', { class: 'views' }, ...views.map((view) => make('button', { key: `${key}/${view}`, text: say('view.' + view), attrs: { type: 'button', 'aria-pressed': now === undefined ? null : String(view === now) }, on: { click: () => put(view) } })));

/** A photo was just brought in so long. */
const JUST = 10 * 60_000;

/**
 * What the newest photo of the unit shows of which nobody said it: asked open while it was just brought in, else folded away,
 * since it may be left unsaid. @param {Photo[]} photos @param {string} job
 */
function viewPart(photos, job) {
  const photo = photos.filter((one) => one.view === null && one.of.of === 'unit').at(-1);
  if (!photo) return null;
  const said = photos.map((one) => one.view);
  const [open, rest] = [VIEWS.filter((view) => !said.includes(view)), VIEWS.filter((view) => said.includes(view))];
  const put = (/** @type {UnitView} */ view) => run(() => ask({ kind: 'set_photo_view', job, sha256: photo.sha256, view }));
  return make('details', { class: 'view-of', key: 'view-of/' + photo.sha256, attrs: { open: Date.now() - Date.parse(photo.at) < JUST } }, make('summary', { text: say('photos.view_ask') }),
    make('div', { class: 'view-ask' }, photo.cannot_show ? null : make('img', { attrs: { src: photoUrl(photo.sha256, 'small'), alt: photo.name, width: 104, height: 78 } }),
      make('p', { class: 'hint', text: say('photos.view_hint') })),
    viewButtons(open, 'view-of', put),
    rest.length ? make('details', { key: 'view-of/rest' }, make('summary', { text: say('photos.view_again') }), viewButtons(rest, 'view-of/again', put)) : null);
}

/** Which view of the unit a photo shows, said otherwise or not at all. @param {string} job @param {Photo} photo */
function viewDialog(job, photo) {
  const put = (/** @type {UnitView | null} */ view) => { dialog.close(); run(() => ask({ kind: 'set_photo_view', job, sha256: photo.sha256, view })); };
  const dialog = showDialog(say('photos.view'), viewButtons(VIEWS, 'view', put, photo.view),
    photo.view ? make('button', { text: say('photos.view_none'), attrs: { type: 'button' }, on: { click: () => put(null) } }) : null);
}

/** Which of these say in their file where they were taken: said where photos are brought in. @param {Photo[]} photos @param {string | undefined} job */
function placed(photos, job) {
  const n = photos.filter((photo) => photo.placed).length;
  return job && n ? make('p', { class: 'hint', text: say('photos.placed_some', { n }) }) : null;
}

/** Files of what is dropped or pasted. @param {DataTransfer | null} data */
const filesOf = (data) => [...(data?.files ?? [])];

/** The strip takes what is dropped on it, and what is pasted while it is the page's first or has the focus. @param {HTMLElement} strip @param {(files: File[]) => Promise<void>} take */
function dropped(strip, take) {
  const over = (/** @type {boolean} */ is) => strip.classList.toggle('drop', is);
  strip.addEventListener('dragover', (event) => { event.preventDefault(); over(true); });
  strip.addEventListener('dragleave', () => over(false));
  strip.addEventListener('drop', (event) => {
    event.preventDefault();
    over(false);
    const files = filesOf(event.dataTransfer);
    void take(files);
  });
  takes.set(strip, take);
}

/** @type {WeakMap<Element, (files: File[]) => Promise<void>>} */
const takes = new WeakMap();
document.addEventListener('paste', (event) => {
  const files = filesOf(event.clipboardData);
  const strips = [...document.querySelectorAll('section.photos')].filter((strip) => takes.has(strip));
  const strip = strips.find((one) => one.contains(document.activeElement)) ?? strips[0];
  const take = strip && takes.get(strip);
  if (files.length === 0 || !take) return;
  event.preventDefault();
  void take(files);
});

/**
 * @param {string} job @param {PhotoOf} of @param {PhotoWhen} when @param {File[]} files @param {Import} state
 */
async function bringIn(job, of, when, files, state) {
  Object.assign(state, { wrong: [], stop: false, running: true, rest: [] });
  /** Names of what was not taken, by the sentence that says why. @type {Map<string, string[]>} */
  const refused = new Map();
  const all = files.reduce((sum, file) => sum + file.size, 0);
  let done = 0;
  let size = 0;
  for (const [at, file] of files.entries()) {
    if (state.stop) {
      state.rest = files.slice(at);
      break;
    }
    state.words = say('photos.progress', { at: at + 1, of: files.length, size: bytes(size), all: bytes(all) });
    state.tell();
    const why = await brought({ kind: 'add_photo', job, of, when, name: file.name }, file);
    if (why?.code === 'no_door') {
      // Nobody answers: the others would fare no better, and wait for a press.
      state.rest = files.slice(at);
      state.wrong = [...state.wrong, why.sentence];
      break;
    }
    if (why) refused.set(why.sentence, [...(refused.get(why.sentence) ?? []), file.name]);
    else done += 1;
    state.wrong = [...refused].map(([sentence, names]) => say('photos.refused', { name: named(names), sentence }));
    size += file.size;
  }
  state.running = false;
  state.words = say('photos.done', { n: done, of: files.length });
  state.tell();
  await refresh();
}

/** Brings one file in; why not, where it is not taken. @param {Ask} what @param {File} file @returns {Promise<{code: string, sentence: string} | null>} */
async function brought(what, file) {
  try {
    // What cannot be read (a folder that was dropped, a file that is gone) is told from a program that does not answer.
    await file.slice(0, 1).arrayBuffer();
  } catch {
    return { code: 'unreadable', sentence: say('photos.unreadable') };
  }
  try {
    await ask(what, file);
    return null;
  } catch (error) {
    return error instanceof Refused ? error : { code: 'unknown', sentence: String(error) };
  }
}

/** Names in a line: of many, the first ones. @param {string[]} names */
const named = (names) => names.length > MOST_NAMES + 1 ? say('photos.and_more', { names: names.slice(0, MOST_NAMES).join(', '), n: names.length - MOST_NAMES }) : names.join(', ');

/** What the phone's own camera or gallery brought. @param {Import} state @param {number} kept @param {string[]} wrong */
async function toldOf(state, kept, wrong) {
  Object.assign(state, { words: kept ? say('photos.done', { n: kept, of: kept + wrong.length }) : '', wrong });
  state.tell();
  await refresh();
}

/** @param {Photo} photo @param {() => void} open */
export function small(photo, open) {
  const words = say('photos.alt', { shows: photo.shows, at: sayWhen(photo.at), by: photo.by });
  return make('button', { class: 'thumb', key: `photo-${photo.sha256}`, attrs: { type: 'button', 'aria-label': say('photos.open', { what: words }) }, on: { click: open } },
    photo.cannot_show
      ? make('span', { class: 'no-picture', text: say('photos.cannot_show', { name: photo.name }) })
      : make('img', { attrs: { src: photoUrl(photo.sha256, 'small'), alt: '', loading: 'lazy', decoding: 'async', width: 104, height: 78 } }));
}

/**
 * Opens a photo large, with what can be done with it; without `job` it only shows.
 * @param {Photo[]} photos @param {number} at @param {string | undefined} job
 */
export function large(photos, at, job) {
  const photo = photos[at];
  if (!photo) return;
  const alt = say('photos.alt', { shows: photo.shows, at: sayWhen(photo.at), by: photo.by });
  const query = new URLSearchParams({ job: job ?? '', photo: photo.sha256 });
  const button = (/** @type {string} */ word, /** @type {() => unknown} */ act, disabled = false) => make('button', { text: say(word), attrs: { type: 'button', disabled }, on: { click: () => { dialog.close(); act(); } } });
  const screen = (/** @type {string} */ word, /** @type {string} */ page) => make('a', { class: 'button', text: say(word), attrs: { href: `${page}.html?${query}` } });
  const dialog = showDialog(photo.shows,
    photo.cannot_show ? make('p', { text: say('photos.cannot_show', { name: photo.name }) }) : picture(photo, alt),
    photo.measured.length ? make('p', { text: say('photos.measured', { what: photo.measured.join('; ') }) }) : null,
    make('p', { text: say('photos.facts', { by: photo.by, at: sayWhen(photo.at), taken: photo.taken ? say('photos.taken', { at: sayWhen(photo.taken) }) : say('photos.no_time'), size: bytes(Number(photo.bytes)) }) }),
    photo.doubt ? make('p', { class: 'note', text: photo.doubt }) : null,
    photo.placed ? make('p', { class: 'note', text: say('photos.placed') }) : null,
    make('div', { class: 'over-acts' }, button('photos.earlier', () => large(photos, at - 1, job), !photos[at - 1]), button('photos.later', () => large(photos, at + 1, job), !photos[at + 1]),
      job && !photo.cannot_show ? [screen('photos.measure', 'photo_scale'), screen('photos.draw', 'photo_draw')] : null,
      job && photo.of.of === 'unit' ? button('photos.view', () => viewDialog(job, photo)) : null,
      job ? [button('photos.move', () => run(() => moveDialog(job, photo))), button('photos.take_off', () => run(() => ask({ kind: 'remove_photo', job, sha256: photo.sha256 })))] : null));
}

/** Where a photo goes: a place is one tap; beside it when it was taken, and where it stood. @param {string} job @param {Photo} photo */
async function moveDialog(job, photo) {
  const view = await askFor('photo', { kind: 'photo', job, sha256: photo.sha256 });
  const same = (/** @type {PhotoOf} */ of) => JSON.stringify(of) === JSON.stringify(view.photo.of);
  const put = (/** @type {PhotoOf} */ of, /** @type {PhotoWhen} */ when, /** @type {string} */ words) => {
    dialog.close();
    run(async () => {
      await ask({ kind: 'move_photo', job, sha256: photo.sha256, of, when });
      queueMicrotask(() => tell(say('photos.moved', { place: words, from: view.photo.shows })));
    });
  };
  const places = view.places.map(({ of, words }) => make('li', null, make('button', {
    class: 'row', attrs: { type: 'button', 'aria-current': same(of) ? 'true' : null, disabled: same(of) }, on: { click: () => put(of, of.of === 'step' ? 'during' : view.photo.when, words) },
  }, make('span', { text: words }), same(of) ? make('span', { class: 'quiet', text: say('photos.here') }) : null)));
  const whens = /** @type {PhotoWhen[]} */ (['before', 'during', 'after']).map((when) => make('button', {
    text: say(`photos.${when}_word`), attrs: { type: 'button', 'aria-pressed': String(when === view.photo.when) }, on: { click: () => put(view.photo.of, when, say(`photos.${when}_word`)) },
  }));
  const dialog = showDialog(say('photos.move'), make('ul', { class: 'to-places' }, places),
    make('h3', { text: say('photos.when') }), make('div', { class: 'over-acts' }, whens),
    make('h3', { text: say('photos.history') }), make('ul', { class: 'listed' }, view.history.map((text) => make('li', null, text))));
}
