/**
 * Fold-out: the whole body unfolded, to scale. A tap snaps to what is there and *Mark here* starts a mark; a
 * second tap gives its size. The walk round steps from side to side. The list does all that the drawing does,
 * and the body's measures are entered here.
 */
import { Refused, ask, askFor } from '../parts/ask.js';
import { lengthField, textField, yesNo } from '../parts/fields.js';
import { drawFoldOut, swatch } from '../parts/fold_out.js';
import { make } from '../parts/make.js';
import { hello, job, onlyInspects, param, redraw, run, showWrong, start } from '../parts/page.js';
import { placeWords } from '../parts/surface.js';
import { knows, say, wordOf } from '../parts/words.js';

/** @typedef {import('../parts/types/FoldOutView.ts').FoldOutView} FoldOutView */
/** @typedef {import('../parts/types/WalkStop.ts').WalkStop} WalkStop */
/** @typedef {import('../parts/types/MarkRow.ts').MarkRow} MarkRow */
/** @typedef {import('../parts/types/PlaceAt.ts').PlaceAt} PlaceAt */
/** @typedef {import('../parts/types/Surface.ts').Surface} Surface */

const CLOSER = 1.6;
const CLOSEST = 8;
/** Measures that are one length; the others are lists of stations, or yes and no. */
const LENGTHS = ['length', 'width', 'side_height', 'rail_width_outside', 'rail_hole_pitch', 'rail_flange', 'post_flange', 'header_flange', 'bow_end', 'corner_cap', 'roof_sheet', 'side_sheet'];

/** What only this screen knows: where it looks and what was tapped. */
const here = {
  face: param('face') || 'drawing', inside: param('inside') === '1', zoom: 1,
  /** @type {[number, number] | undefined} */ centre: undefined,
  /** @type {[number, number] | null} */ first: null,
  /** Two taps were given: the place has its size. */ second: false,
  /** @type {PlaceAt | null} */ place: null,
  /** @type {number | null} */ stop: null,
};

const jobQuery = () => `job=${job()}${param('found') ? `&found=${param('found')}` : ''}`;
/** @param {MarkRow} mark */
const markLink = (mark) => `mark.html?job=${job()}&mark=${mark.id}`;
/** @param {WalkStop} stop */
const sideWord = (stop) => wordOf('side', stop.side.toLowerCase());

/** The stop of the walk that is looked at now: chosen, or the first not yet seen. @param {FoldOutView} view */
function stopNow(view) {
  const open = view.walk.findIndex((stop) => !stop.seen && !stop.not_seen);
  return here.stop ?? (open < 0 ? 0 : open);
}

/** Shows a side in its window. @param {FoldOutView} view @param {number} at */
function goToStop(view, at) {
  here.stop = at % Math.max(1, view.walk.length);
  const stop = view.walk[here.stop];
  here.inside = stop?.side.toLowerCase() === 'inside';
  const face = [...view.outside.faces, ...view.inside.faces].find((f) => f.surface === stop?.surfaces[0]);
  if (face) here.centre = [Number(face.rect[0]) + Number(face.rect[2]) / 2, Number(face.rect[1]) + Number(face.rect[3]) / 2];
  forget();
}

function forget() {
  Object.assign(here, { first: null, second: false, place: null });
}

/** @param {FoldOutView} view */
async function seenAndOn(view) {
  const at = stopNow(view);
  const stop = view.walk[at];
  if (stop && !stop.seen && !stop.not_seen) await look(stop, true);
  goToStop(view, at + 1);
}

/** All surfaces of a stop in one act, so that one Undo takes it back. @param {WalkStop} stop @param {boolean} seen */
async function look({ surfaces: [surface, ...also] }, seen) {
  if (surface) await ask({ kind: 'set_looked', job: job(), surface, also, seen });
}

/**
 * First tap: a place. Second: the opposite corner. Third: a new place.
 * @param {number} x @param {number} y @param {[number, number] | null} [second] @returns {Promise<void>}
 */
async function tapped(x, y, second = here.second ? null : here.first) {
  const from = second ?? [x, y];
  showWrong('');
  try {
    here.place = await askFor('place_at', { kind: 'place_at', job: job(), inside: here.inside, x1: from[0], y1: from[1], x2: x, y2: y });
    here.second = second !== null;
    here.first = [x, y];
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    // The opposite corner does not lie on another side: whoever taps there begins anew.
    if (second) return tapped(x, y, null);
    showWrong(error.sentence);
  }
  redraw();
}

function markHere() {
  const { place } = here;
  if (!place) return showWrong(say('fold_out.tap'));
  location.href = `mark.html?${jobQuery()}&place=${encodeURIComponent(JSON.stringify(place.typed))}&parts=${place.parts.join(',')}`;
}

/** @param {number} zoom */
function zoomTo(zoom) {
  here.zoom = Math.max(1, Math.min(CLOSEST, zoom));
  if (here.first) here.centre = here.first;
  redraw();
}

/** @param {FoldOutView} view */
function says(view) {
  if (param('found') && !here.place) return `${say('fold_out.for_found')}. ${say('fold_out.tap')}`;
  if (here.place) {
    const { typed, snapped } = here.place;
    const at = here.second || !snapped.length ? placeWords(typed) : snapped;
    return `${[wordOf('surface', typed.surface), ...at].join(', ')}. ${say(here.second ? 'fold_out.tap_again' : 'fold_out.tap_second')}`;
  }
  const seen = view.walk.filter((stop) => stop.seen).length;
  const stop = view.walk[stopNow(view)];
  if (!stop || view.walk.every((s) => s.seen || s.not_seen)) return `${say('fold_out.walk_done', { seen, of: view.walk.length })} ${say('fold_out.tap')}`;
  return `${stop.not_seen ? say('page.not_seen', { seal: stop.not_seen }) : say('fold_out.walk_now', { side: sideWord(stop), seen, of: view.walk.length })} ${say('fold_out.tap')}`;
}

/** @param {FoldOutView} view @param {HTMLElement} body */
function drawing(view, body) {
  const other = !here.inside;
  const sheet = make('button', { class: 'wider', key: 'sheet', text: say(other ? 'fold_out.inside' : 'fold_out.outside'), attrs: { type: 'button', 'aria-label': say(other ? 'fold_out.show_inside' : 'fold_out.show_outside') }, on: { click: () => { here.inside = other; here.centre = undefined; forget(); redraw(); } } });
  const zoom = (/** @type {number} */ by, /** @type {string} */ face, /** @type {string} */ word) => make('button', { key: word, text: face, attrs: { type: 'button', 'aria-label': say(word), disabled: by < 1 ? here.zoom <= 1 : here.zoom >= CLOSEST }, on: { click: () => zoomTo(here.zoom * by) } });
  body.append(
    make('p', { class: 'says', key: 'says', text: says(view), attrs: { 'aria-live': 'polite' } }),
    drawFoldOut({
      view, inside: here.inside, zoom: here.zoom, centre: here.centre, point: here.first, picked: here.place && here.second ? /** @type {any} */ (here.place.rect.map(Number)) : null, unit: hello().unit,
      width: Math.min(document.documentElement.clientWidth, 1400) - 24, height: room(),
      controls: [sheet, zoom(1 / CLOSER, '−', 'fold_out.farther'), zoom(CLOSER, '+', 'fold_out.closer')],
      onTap: tapped, link: markLink,
      onZoom: (zoomed, centre) => { here.centre = centre; here.zoom = Math.max(1, Math.min(CLOSEST, zoomed)); redraw(); },
      onMove: (centre) => { here.centre = centre; },
    }),
    make('nav', { class: 'bar', key: 'more' },
      make('button', { key: 'measures', text: say('fold_out.measures'), attrs: { type: 'button' }, on: { click: () => show('measures') } }),
      onlyInspects() && walked(view) && view.marks.length > 0 ? null : make('a', { class: 'button', text: say('fold_out.next_unit'), attrs: { href: 'arrival.html' } }),
      make('a', { class: 'button', text: say('fold_out.ways'), attrs: { href: `ways.html?job=${job()}` } })));
}

/** Every side was looked at, or cannot be. @param {{walk: WalkStop[]}} view */
const walked = (view) => view.walk.every((each) => each.seen || each.not_seen);

/** Height that is left for the drawing between what stands above it (a line of this screen too) and the acts: a message over these moves nothing. */
function room() {
  const taken = ['.head', '.banners', '.acts'].reduce((sum, name) => sum + (/** @type {HTMLElement | null} */ (document.querySelector(name))?.offsetHeight ?? 0), 17);
  const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
  return Math.max(340, window.innerHeight - taken - 4.2 * rem - 26);
}

/** @param {string} face */
function show(face) {
  here.face = face;
  history.replaceState(null, '', `?${jobQuery()}&face=${face}`);
  redraw();
  window.scrollTo(0, 0);
}

/** @param {FoldOutView} view @param {HTMLElement} body */
function list(view, body) {
  body.append(make('h2', { text: say('fold_out.walk') }), make('p', { class: 'hint', text: say('fold_out.walk_hint') }));
  for (const stop of view.walk) body.append(stopRow(stop));
  body.append(make('h2', { text: say('fold_out.marks') }));
  if (view.marks.length === 0) body.append(make('p', { class: 'empty', text: say('fold_out.no_marks') }));
  body.append(make('ul', { class: 'rows' }, view.marks.map((mark) => make('li', null, make('a', { key: mark.id, attrs: { href: markLink(mark) } }, swatch(mark.kind),
    make('span', { class: 'what' }, make('b', { text: `${wordOf('damage', mark.kind)}, ${wordOf('part', mark.part)}` }), make('br'), [mark.size, mark.where_].filter(Boolean).join(' · '), mark.hits_words ? [make('br'), mark.hits_words] : null, make('br'),
      make('span', { class: 'quiet', text: [wordOf('age', mark.age), say('yard.photos', { n: mark.photos })].join(' · ') })))))));
  for (const seam of view.seams) body.append(make('p', { class: 'note', text: seam.words }));
}

/** @param {WalkStop} stop */
function stopRow(stop) {
  const state = stop.not_seen ? say('page.not_seen', { seal: stop.not_seen }) : say(stop.seen ? 'fold_out.looked' : 'fold_out.not_looked');
  const toggle = make('button', { key: `looked-${stop.side}`, text: say(stop.seen ? 'fold_out.looked_unset' : 'fold_out.looked_set'), attrs: { type: 'button', 'aria-label': `${sideWord(stop)}: ${say(stop.seen ? 'fold_out.looked_unset' : 'fold_out.looked_set')}` }, on: { click: () => run(() => look(stop, !stop.seen)) } });
  return make('details', { key: `stop-${stop.side}` },
    make('summary', null, make('b', { text: sideWord(stop) }), make('span', { text: `${state} · ${say('yard.marks', { n: stop.marks })}` })),
    make('div', { class: 'bar' }, stop.not_seen ? null : toggle,
      stop.surfaces.map((surface) => make('a', { class: 'button', text: say('fold_out.mark_on', { side: wordOf('surface', surface) }), attrs: { href: `mark.html?${jobQuery()}&surface=${surface}` } }))));
}

/** @param {FoldOutView} view @param {HTMLElement} body */
function measures(view, body) {
  const unit = hello().unit;
  if (view.not_measured.length > 0) {
    body.append(make('details', { class: 'not-measured', key: 'not-measured' }, make('summary', { text: say('fold_out.not_measured') }), make('p', { text: say('fold_out.not_measured_hint') }), make('ul', { class: 'listed' }, view.not_measured.map((text) => make('li', { text })))));
  }
  for (const it of view.plan) {
    const key = `plan-${it.field}`;
    const label = say(`plan.${it.field}`);
    const set = (/** @type {string} */ value) => ask({ kind: 'set_plan', job: job(), field: it.field, value });
    if (it.field === 'composite_sides') {
      body.append(yesNo({ key, label, value: it.value === '' ? null : /^(yes|true)$/i.test(it.value), by: it.by, hint: it.remark ?? '', save: (yes) => set(yes ? 'yes' : 'no') }));
      continue;
    }
    const hint = knows(`plan.${it.field}_hint`) ? say(`plan.${it.field}_hint`) : LENGTHS.includes(it.field) ? say(`field.length_hint_${unit}`) : '';
    const shared = { key, label, value: it.value, by: it.by, remark: it.remark, hint, save: set };
    body.append(LENGTHS.includes(it.field) ? lengthField(shared) : textField({ ...shared, lines: it.value.length > 34 ? 3 : undefined }));
  }
}

start({
  title: 'fold_out.title',
  load: async (id) => {
    document.body.classList.add('wide');
    return askFor('fold_out', { kind: 'fold_out', job: id });
  },
  lengths: () => here.face === 'measures',
  draw: (view, body) => ({ drawing, list, measures }[here.face] ?? drawing)(view, body),
  tray: (view) => {
    const stop = view.walk[stopNow(view)];
    const next = stop && !stop.seen && !stop.not_seen ? say('fold_out.side_seen', { side: sideWord(stop) }) : say('fold_out.next_side');
    const other = { label: say(here.face === 'drawing' ? 'fold_out.list' : 'fold_out.drawing'), act: () => show(here.face === 'drawing' ? 'list' : 'drawing'), key: 'other' };
    if (here.face !== 'drawing') return [other, { label: say('fold_out.measures'), act: () => show('measures'), key: 'measures-act', disabled: here.face === 'measures' }, { label: say('fold_out.ways'), href: `ways.html?job=${job()}`, main: true }];
    // With nothing tapped the main act is to go on with the walk, and after it to what comes next.
    const after = onlyInspects() ? { label: say('arrival.next_unit'), href: 'arrival.html', main: true } : view.head.stage === 'in_the_bay' ? { label: say('fold_out.steps'), href: `steps.html?job=${job()}`, main: true } : { label: say('fold_out.ways'), href: `ways.html?job=${job()}`, main: true };
    if (!here.place && walked(view) && view.marks.length > 0 && !param('found')) return [other, { label: next, act: () => seenAndOn(view), key: 'next' }, after];
    return [other, { label: next, act: () => seenAndOn(view), key: 'next', main: !here.place && !walked(view) }, { label: say('fold_out.mark_here'), act: markHere, main: !!here.place, key: 'mark', disabled: !here.place }];
  },
});
window.addEventListener('resize', () => { if (here.face === 'drawing') redraw(); });
