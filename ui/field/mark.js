/**
 * Mark: one damage. A new one is asked step by step, one question a screen, and is saved with the first answer
 * (the kind), so that nothing is lost when the walk is cut short. Later it opens whole.
 */
import { Refused, ask, askFor } from '../parts/ask.js';
import { clashPart } from '../parts/clash.js';
import { choice, foldedChoice, lengthField, refuse, taken, textField } from '../parts/fields.js';
import { KINDS, runs, swatch } from '../parts/fold_out.js';
import { make } from '../parts/make.js';
import { hello, job, param, redraw, run, start } from '../parts/page.js';
import { photoStrip } from '../parts/photos.js';
import { measuredFrom, placeWords } from '../parts/surface.js';
import { say, when, wordOf } from '../parts/words.js';

/** @typedef {import('../parts/types/MarkView.ts').MarkView} MarkView */
/** @typedef {import('../parts/types/TypedPlace.ts').TypedPlace} TypedPlace */
/** @typedef {import('../parts/types/Surface.ts').Surface} Surface */
/** @typedef {import('../parts/types/DamageKind.ts').DamageKind} DamageKind */
/** @typedef {import('../parts/types/Part.ts').Part} Part */
/** @typedef {import('../parts/types/Age.ts').Age} Age */

const SURFACES = /** @type {Surface[]} */ (['nose', 'curbside', 'rear', 'roadside', 'roof', 'inside_nose', 'inside_curbside', 'inside_roadside', 'floor']);
const PARTS = /** @type {Part[]} */ (['nose_wall', 'nose_rail', 'corner_post', 'corner_cap', 'top_rail', 'bottom_rail', 'roof_sheet', 'roof_bow', 'front_roof_bow', 'rear_header', 'rear_frame', 'side_sheet', 'side_post', 'scuff_band', 'lining', 'floor', 'crossmember', 'kingpin', 'landing_gear', 'mud_flap', 'rear_guard', 'door', 'hinge', 'lamp', 'harness', 'reflective_sheeting', 'decal']);
/** The sides of a place. */
const SIDES = /** @type {const} */ (['from', 'to', 'low', 'high']);
const AGES = /** @type {Age[]} */ (['new', 'old', 'not_known']);
/** The part a mark is on when nothing under the taps says it, until the second question. @type {Record<Surface, Part>} */
const USUAL = { nose: 'nose_wall', curbside: 'side_sheet', rear: 'door', roadside: 'side_sheet', roof: 'roof_sheet', inside_nose: 'lining', inside_curbside: 'lining', inside_roadside: 'lining', floor: 'floor' };

/** Where this screen stands: `place`, `kind`, `part`, `age`, `photos` while asking, nothing when the mark is whole. */
const here = {
  mark: param('mark'), ask: param('ask'), placing: false,
  /** @type {TypedPlace} */ place: givenPlace(),
  /** Parts under the taps, the likeliest first. @type {Part[]} */ parts: /** @type {Part[]} */ (param('parts').split(',')).filter((part) => PARTS.includes(part)),
};
if (!here.mark) here.ask = param('place') ? 'kind' : 'place';

/** @returns {TypedPlace} */
function givenPlace() {
  const surface = SURFACES.find((s) => s === param('surface')) ?? 'roof';
  try {
    return { surface, from: '', to: '', low: '', high: '', ...JSON.parse(param('place') || '{}') };
  } catch {
    return { surface, from: '', to: '', low: '', high: '' };
  }
}

/** @param {string} next */
function askNext(next) {
  here.ask = next;
  history.replaceState(null, '', here.mark ? `?job=${job()}&mark=${here.mark}${next ? `&ask=${next}` : ''}` : location.search);
  window.scrollTo(0, 0);
}

const markOf = (/** @type {object} */ change) => ask(/** @type {any} */ ({ kind: 'set_mark', job: job(), mark: here.mark, ...change }));

/**
 * The four sides of a place as they are measured on its surface.
 * @param {TypedPlace} place @param {(changed: TypedPlace) => Promise<unknown>} save @param {boolean} quiet
 */
function placeFields(place, save, quiet) {
  const { ends, flat } = measuredFrom(place.surface);
  const names = { from: ends ? 'from_edge' : 'from_station', to: ends ? 'to_edge' : 'to_station', low: flat ? 'low_offset' : 'low_height', high: flat ? 'high_offset' : 'high_height' };
  const hint = say(`field.length_hint_${hello().unit}`);
  return make('div', { key: 'place-fields' }, make('p', { class: 'hint', text: hint }), make('div', { class: 'pair', key: 'place-pair' }, SIDES.map((name) => lengthField({
    key: `place-${name}`, label: say(`mark.${names[name]}`), value: place[name], quiet, save: (text) => save({ ...place, [name]: text }),
  }))));
}

const kinds = () => KINDS.map((value) => ({ value, label: wordOf('damage', value) }));
const surfaces = () => SURFACES.map((value) => ({ value, label: wordOf('surface', value) }));

/** @param {any} _ @param {HTMLElement} body */
function askPlace(_, body) {
  body.append(make('h2', { text: say('mark.where_title') }),
    foldedChoice({ key: 'place-surface', label: say('mark.surface'), value: here.place.surface, options: surfaces(), quiet: true, save: async (value) => { here.place.surface = /** @type {Surface} */ (value); redraw(); } }),
    placeFields(here.place, async (changed) => { Object.assign(here.place, changed); }, true));
}

/** What is in the fields now, also the one that still has the focus. @param {TypedPlace} place @returns {TypedPlace} */
function placeTyped(place) {
  const all = { ...place };
  for (const name of SIDES) {
    const input = /** @type {HTMLInputElement | null} */ (document.querySelector(`[data-key=place-${name}] input`));
    if (input) all[name] = input.value;
  }
  return all;
}

/** All four sides together: one that was refused beside the others as they were may fit them now. @param {TypedPlace} place */
async function savePlace(place) {
  try {
    await markOf({ place: placeTyped(place) });
  } catch (error) {
    const alone = error instanceof Refused && SIDES.some((name) => error.field?.endsWith(name));
    if (!alone) throw error;
    await markOf({ place });
    return;
  }
  for (const name of SIDES) taken(`place-${name}`);
}

/** @param {any} _ @param {HTMLElement} body */
function askKind(_, body) {
  body.append(make('p', { class: 'quiet', text: `${wordOf('surface', here.place.surface)}: ${placeWords(here.place).join(', ')}` }),
    choice({ key: 'mark-kind', label: say('mark.kind_ask'), value: null, options: kinds(), save: (kind) => addMark(/** @type {DamageKind} */ (kind)) }));
}

/** The first answer puts the mark on the body. @param {DamageKind} damage */
async function addMark(damage) {
  try {
    const saved = await ask({ kind: 'add_mark', job: job(), place: here.place, damage, part: here.parts[0] ?? USUAL[here.place.surface], age: 'not_known', note: '', found: param('found') || null });
    if (saved.kind === 'saved' && saved.id) here.mark = saved.id;
  } catch (error) {
    const side = error instanceof Refused ? SIDES.find((name) => error.field?.endsWith(name)) : undefined;
    if (!(error instanceof Refused) || !side) throw error;
    refuse(`place-${side}`, here.place[side], error.sentence);
    return askNext('place');
  }
  askNext('part');
}

/** @param {MarkView} view @param {HTMLElement} body */
function askPart(view, body) {
  const near = here.parts.length > 0 ? here.parts : view.parts;
  const option = (/** @type {Part} */ value) => ({ value, label: wordOf('part', value) });
  const save = async (/** @type {string} */ part) => { await markOf({ part }); askNext('age'); };
  const rest = PARTS.filter((part) => !near.includes(part));
  body.append(choice({ key: 'mark-part', label: say('mark.part_ask'), value: null, options: near.map(option), save }),
    make('details', { key: 'other-parts', attrs: { open: near.length === 0 } }, make('summary', { text: say('mark.other_parts') }), choice({ key: 'mark-other-part', label: say('mark.other_parts'), value: null, options: rest.map(option), save })));
}

/** @param {MarkView} _ @param {HTMLElement} body */
function askAge(_, body) {
  body.append(choice({ key: 'mark-age', label: say('mark.age_ask'), hint: say('mark.age_hint'), columns: false, value: null, options: AGES.map((value) => ({ value, label: wordOf('age', value) })), save: async (age) => { await markOf({ age }); askNext('photos'); } }));
}

/** @param {MarkView} view @param {HTMLElement} body */
function askPhotos(view, body) {
  body.append(make('h2', { text: say('mark.photos_ask') }), strip(view, 'before', say('mark.photos_wanted')), sizeLine(view), ...[depthPart(view), placePart(view), note(view)].filter((part) => part !== null));
}

/** @param {MarkView} view @param {'before' | 'after'} at @param {string} [wanted] */
const strip = (view, at, wanted) => photoStrip({ photos: view.photos.filter((p) => p.when === at), of: { of: 'mark', id: view.mark.id }, when: at, job: job(), title: say(`photos.${at}`), wanted });

/** @param {MarkView} view */
const note = (view) => textField({ key: 'mark-note', label: say('mark.note'), value: view.mark.note, lines: 3, save: (text) => markOf({ note: text }) });

/** Kinds whose ways depend on how deep they are. @type {DamageKind[]} */
const DEEP = ['bend', 'dent', 'crease', 'gouge', 'corrosion'];
/** @param {MarkView} view */
const depthPart = (view) => (DEEP.includes(view.mark.kind) ? lengthField({ key: 'mark-depth', label: say('mark.depth'), value: view.depth, hint: say('mark.depth_hint'), save: (text) => markOf({ depth: text }) }) : null);

/** Size and place, as they stand. @param {MarkView} view */
const sizeLine = ({ mark }) => make('div', { class: 'bar', key: 'what' }, swatch(mark.kind), make('p', { class: 'grow' }, make('b', { class: 'number', text: mark.size }), make('br'), mark.where_, mark.from_photo ? [make('br'), mark.from_photo] : null));

/** What was folded out is seen, not under the header. */
const showPlace = () => { if (here.placing) document.querySelector('[data-key=place]')?.scrollIntoView({ block: 'start' }); };

/** Where it is by the tape, for a mark that was tapped roughly. @param {MarkView} view */
const placePart = (view) => make('details', { key: 'place', on: { toggle: (event) => { if (here.placing !== event.target.open) { here.placing = event.target.open; redraw(); showPlace(); } } } }, make('summary', { text: say('mark.place') }),
  foldedChoice({ key: 'place-surface', label: say('mark.surface'), value: view.typed.surface, options: surfaces(), save: (surface) => markOf({ place: { ...view.typed, surface } }) }),
  placeFields(view.typed, savePlace, false));

/** @param {MarkView} view @param {HTMLElement} body */
function whole(view, body) {
  const { mark } = view;
  const parts = [...new Set([...view.parts, ...PARTS])];
  const clashes = view.head.to_settle.filter((clash) => clash.register.startsWith(`mark/${mark.id}/`)).map((clash) => clashPart(view.head, clash));
  body.append(
    ...clashes.filter(/** @returns {part is HTMLDivElement} */ (part) => part !== null),
    sizeLine(view),
    make('ul', { class: 'listed', key: 'hits', attrs: { 'aria-label': say('mark.hits') } }, mark.hits.map((hit) => make('li', null, say('mark.numbers', { part: wordOf('part', hit.part), numbers: runs(hit.numbers) }).trim(), hit.hidden ? `: ${say('mark.hits_hidden')}` : ''))),
    strip(view, 'before'), strip(view, 'after'),
    foldedChoice({ key: 'mark-kind', label: say('mark.kind'), value: mark.kind, options: kinds(), save: (damage) => markOf({ damage }) }),
    foldedChoice({ key: 'mark-part', label: say('mark.part'), value: mark.part, options: parts.map((value) => ({ value, label: wordOf('part', value) })), save: (part) => markOf({ part }) }),
    foldedChoice({ key: 'mark-age', label: say('mark.age'), value: mark.age, options: AGES.map((value) => ({ value, label: wordOf('age', value) })), save: (age) => markOf({ age }) }),
    ...[depthPart(view)].filter((part) => part !== null),
    note(view),
    placePart(view),
    make('p', { class: 'hint', key: 'by' }, say('mark.by', { who: view.by, at: when(view.at) }), mark.found ? [make('br'), make('a', { text: say('mark.for_found'), attrs: { href: `found_more.html?job=${job()}&found=${mark.found}` } })] : null),
    make('button', { key: 'remove', class: 'apart', text: say('mark.remove'), attrs: { type: 'button' }, on: { click: () => run(async () => { await ask({ kind: 'remove_mark', job: job(), mark: mark.id }); location.replace(foldOut()); }) } }),
    make('a', { class: 'button', key: 'next-unit', text: say('mark.next_unit'), attrs: { href: 'arrival.html' } }));
}

/** A mark that Undo took off leads back to the drawing. @param {string} id @param {string} mark */
async function theMark(id, mark) {
  try {
    return await askFor('mark', { kind: 'mark', job: id, mark });
  } catch (error) {
    if (error instanceof Refused && error.code === 'no_mark') location.replace(foldOut());
    throw error;
  }
}

const foldOut = () => `fold_out.html?job=${job()}${param('found') ? `&found=${param('found')}` : ''}`;
/** The question after each. @type {Record<string, string>} */
const AFTER = { part: 'age', age: 'photos', photos: '' };
const DRAW = /** @type {Record<string, (view: any, body: HTMLElement) => void>} */ ({ place: askPlace, kind: askKind, part: askPart, age: askAge, photos: askPhotos, '': whole });

start({
  title: (view) => (view?.mark ? [wordOf('damage', view.mark.kind), view.mark.part ? wordOf('part', view.mark.part) : ''].filter(Boolean).join(', ') : say('mark.title')),
  // Before the mark is there, the head comes with the fold-out.
  load: async (id) => (here.mark ? theMark(id, here.mark) : { head: (await askFor('fold_out', { kind: 'fold_out', job: id })).head }),
  lengths: (view) => here.ask === 'place' || (['', 'photos'].includes(here.ask) && (here.placing || DEEP.includes(view.mark?.kind))),
  draw: (view, body) => (DRAW[here.ask] ?? whole)(view, body),
  tray: (view) => {
    const found = view.mark?.found;
    const back = { label: say('mark.back_drawing'), href: foldOut() };
    if (here.ask === 'place') return [back, { label: say('mark.place_next'), main: true, act: () => { here.place = placeTyped(here.place); askNext('kind'); } }];
    if (here.ask === 'kind') return [back];
    if (found && (here.ask === 'photos' || here.ask === '')) return [back, { label: say('mark.to_found'), href: `found_more.html?job=${job()}&found=${found}`, main: true }];
    if (here.ask === 'photos' || here.ask === '') return [{ label: say('mark.next_mark'), href: foldOut(), main: true }];
    return [back, { label: say('mark.later'), act: () => askNext(AFTER[here.ask] ?? '') }];
  },
});
