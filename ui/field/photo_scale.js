/**
 * Photo scale: a length measured in a photo from something of known size that lies in the same plane. First what
 * it is, then its four corners (those of the printed target are found by themselves), then both ends of what is
 * measured, or the corners of an area; each point is kept as it is put. The result
 * says how far it may be off and what makes it poor, and can become a side of a mark's size.
 */
import { Refused, ask, askFor } from '../parts/ask.js';
import { choice, lengthField, refuse } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { lineTo, measure, twice, words as wordsAt } from '../parts/over.js';
import { job, me, param, redraw, refresh, run, showDialog, showWrong, start, tell } from '../parts/page.js';
import { Points, hundredths, pixels } from '../parts/points.js';
import { say, when, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/PhotoView.ts').PhotoView} PhotoView */
/** @typedef {import('../parts/types/ScaleOf.ts').ScaleOf} ScaleOf */
/** @typedef {import('../parts/types/SizedMark.ts').SizedMark} SizedMark */
/** @typedef {import('../parts/types/MarkSide.ts').MarkSide} MarkSide */
/** @typedef {[number, number]} Px */

const CORNERS = 4;
/** How long after a point rests it is kept, milliseconds. */
const REST = 250;

/** What this screen alone knows: the thing chosen while its sizes are typed, and the points under the finger. */
const here = {
  /** @type {ScaleOf | null} */ of: null, length: '', width: '', choosing: false,
  /** @type {Points | null} */ points: null, kept: '', rest: 0,
  /** Corners of the area while lengths are put; while the area is put, they are the stage's points from `from` on. @type {Px[]} */
  outline: [], from: -1,
};

/** The stage's points, parted: corners and ends, and the outline of the area. @param {Points} stage @returns {{points: Px[], outline: Px[]}} */
const parted = (stage) => (here.from < 0 ? { points: stage.points, outline: here.outline } : { points: stage.points.slice(0, here.from), outline: stage.points.slice(here.from) });
/** As they are kept. @param {Points} stage */
function hundredthsOf(stage) {
  const { points, outline } = parted(stage);
  return { points: hundredths(points), outline: hundredths(outline) };
}

/** @param {PhotoView} view */
const typed = (view) => ({ of: view.scale?.of ?? /** @type {ScaleOf} */ (here.of), length: view.scale?.length ?? here.length, width: view.scale?.width ?? here.width });

/** @param {PhotoView} view @param {Partial<{length: string, width: string, points: Px[], outline: Px[], of: ScaleOf}>} change */
const set = (view, change) => ask({ kind: 'set_photo_scale', job: job(), sha256: view.photo.sha256, scale: { ...typed(view), points: view.scale?.points ?? [], outline: view.scale?.outline ?? [], ...change } });

/** Keeps the points once they rest, and shows what comes out of them. @param {() => PhotoView | undefined} now */
function keepSoon(now) {
  clearTimeout(here.rest);
  here.rest = window.setTimeout(async () => {
    const [view, stage] = [now(), here.points];
    if (!view?.scale || !stage || stage.dragging) return;
    const put = hundredthsOf(stage);
    here.kept = JSON.stringify(put);
    try {
      await set(view, put);
      showWrong('');
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      showWrong(error.sentence);
    }
    if (!stage.dragging) await refresh();
  }, REST);
}

/** @type {PhotoView | undefined} */
let shown;

/** The stage, made once: a redraw only moves it. @param {PhotoView} view */
function stageOf(view) {
  if (!here.points && view.size) {
    const size = /** @type {Px} */ (view.size);
    here.points = new Points({ sha256: view.photo.sha256, size, alt: say('photo_scale.stage'), changed: () => { keepSoon(() => shown); redraw(); }, draw });
  }
  return here.points;
}

/** What is kept counts, unless it is what this screen kept itself: after Undo, or a change of somebody else. @param {PhotoView} view */
function takeKept(view) {
  const stage = stageOf(view);
  const { points = [], outline = [] } = view.scale ?? {};
  const kept = JSON.stringify({ points, outline });
  if (!stage || kept === here.kept || stage.dragging) return;
  const area = here.from >= 0;
  Object.assign(here, { kept, outline: pixels(outline), from: area ? points.length : -1 });
  stage.points = pixels(area ? [...points, ...outline] : points);
  stage.at = area ? stage.points.length : next(points.length);
}

/** Words beside a side, away from where the rest of the thing is. @param {Px} a @param {Px} b @param {Px} rest @param {string} text */
function beside(a, b, rest, text) {
  const [x, y] = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const away = rest[1] > y ? -14 : 26;
  return wordsAt([x, y + away], text);
}

/** Corners joined, their sizes beside them, and what is measured. @param {(point: Px) => Px} place */
function draw(place) {
  const stage = here.points;
  if (!stage || !shown?.scale) return [];
  const { points, outline } = parted(stage);
  const at = points.map(place);
  const round = outline.map(place);
  const [a, b, c, d] = at;
  const parts = [];
  if (a && b) parts.push(...twice(lineTo(...at.slice(0, CORNERS)) + (d ? 'Z' : ''), '6 4'));
  // Which side is which is of use while the corners are put; later it would cover what is measured.
  const corners = stage.at >= 0 && stage.at < CORNERS;
  if (corners && a && b) parts.push(beside(a, b, c ?? a, shown.scale.length));
  if (corners && b && c) parts.push(beside(b, c, a ?? b, shown.scale.width));
  for (let n = CORNERS; n + 1 < at.length; n += 2) {
    const line = shown.scale.lines[(n - CORNERS) / 2];
    parts.push(...measure(/** @type {Px} */ (at[n]), /** @type {Px} */ (at[n + 1]), line?.value ?? ''));
  }
  if (round.length > 1) parts.push(...twice(lineTo(...round) + (round.length > 2 ? 'Z' : '')));
  for (const [x, y] of [...at, ...round]) parts.push(...twice(`M${x - 5} ${y}a5 5 0 1 0 10 0a5 5 0 1 0 -10 0`));
  return parts;
}

/** @param {PhotoView} view @param {HTMLElement} body */
function askThing(view, body) {
  body.append(make('p', { text: say('photo_scale.what') }),
    choice({
      key: 'of', label: say('photo_scale.of'), columns: false, value: here.of, quiet: true,
      options: view.kinds.map((kind) => ({ value: kind.of, label: say(`scale.${kind.of}`), hint: [kind.length && kind.width ? `${kind.length} × ${kind.width}` : '', say(`scale.${kind.of}_hint`), kind.from].filter(Boolean).join('. ') })),
      save: async (of) => {
        const kind = view.kinds.find((one) => one.of === of);
        if (!kind) return;
        Object.assign(here, { of: kind.of, length: kind.length, width: kind.width, choosing: true });
        if (kind.of === 'target') return findTarget(view);
        if (kind.fixed) await keepThing(view);
        else redraw();
      },
    }),
    make('a', { class: 'row', attrs: { href: 'target.html' } }, make('span', { text: say('photo_scale.print') })));
}

/** The printed target finds itself; where it does not, its corners are put by hand. @param {PhotoView} view */
async function findTarget(view) {
  if (view.scale?.of !== 'target') await keepThing(view, []);
  Object.assign(here, { of: null, choosing: false });
  try {
    await ask({ kind: 'find_target', job: job(), sha256: view.photo.sha256 });
    await refresh();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    await refresh();
    showWrong(error.sentence);
  }
}

/** @param {PhotoView} view @param {Px[]} [points] */
async function keepThing(view, points) {
  try {
    await ask({ kind: 'set_photo_scale', job: job(), sha256: view.photo.sha256, scale: { of: /** @type {ScaleOf} */ (here.of), length: here.length, width: here.width, points: points ?? view.scale?.points ?? [], outline: points ? [] : view.scale?.outline ?? [] } });
  } catch (error) {
    if (!(error instanceof Refused) || !error.field) throw error;
    refuse(`scale-${error.field}`, error.field === 'length' ? here.length : here.width, error.sentence);
    return redraw();
  }
  Object.assign(here, { of: null, choosing: false });
  await refresh();
}

/** @param {PhotoView} view @param {HTMLElement} body */
function askSize(view, body) {
  const of = here.of ?? 'other';
  const from = view.kinds.find((kind) => kind.of === of)?.from;
  body.append(make('h2', { text: say(`scale.${of}`) }), make('p', { text: say(`scale.${of}_hint`) }), from ? make('p', { class: 'note', text: from }) : '',
    make('div', { class: 'pair' }, /** @type {('length' | 'width')[]} */ (['length', 'width']).map((side) => lengthField({
      key: `scale-${side}`, label: say(`photo_scale.${side}`), value: here[side], quiet: true, save: async (text) => { here[side] = text; },
    }))));
}

/** What is in the fields now, also the one that has the focus. */
function sizesTyped() {
  for (const side of /** @type {const} */ (['length', 'width'])) {
    const input = /** @type {HTMLInputElement | null} */ (document.querySelector(`[data-key=scale-${side}] input`));
    if (input) here[side] = input.value;
  }
}

/** What to do with the point that is put now. @param {PhotoView} view @param {Points} stage */
function question(view, stage) {
  const { at } = stage;
  const thing = say(`scale.${typed(view).of}_short`);
  if (here.from >= 0 && (at < 0 || at >= here.from)) return say('photo_scale.area_corner', { n: Math.max(at, here.from) - here.from + 1, thing });
  if (at < 0) return view.scale?.wrong ? '' : say('photo_scale.done');
  if (at < CORNERS) return say(`photo_scale.corner_${at + 1}`, { thing, length: typed(view).length, width: typed(view).width });
  return say((at - CORNERS) % 2 ? 'photo_scale.other_end' : 'photo_scale.one_end', { thing });
}

/** @param {number} at */
const nameOf = (at) => (here.from >= 0 && at >= here.from ? say('photo_scale.area_n', { n: at - here.from + 1 }) : at < CORNERS ? say('photo_scale.corner', { n: at + 1 }) : say((at - CORNERS) % 2 ? 'photo_scale.end_b' : 'photo_scale.end_a', { n: Math.floor((at - CORNERS) / 2) + 1 }));

/** @param {PhotoView} view */
function results(view) {
  const scale = view.scale;
  if (!scale) return [];
  return [
    ...scale.lines.map((line, at) => make('p', { class: 'figure plain', key: `line-${at}` }, make('span', { text: say('photo_scale.line', { n: at + 1 }) }), make('span', null, make('b', { class: 'number', text: line.value }), ` ± ${line.off}`))),
    scale.area ? make('p', { class: 'figure plain', key: 'area' }, make('span', { text: say('photo_scale.area') }), make('b', { class: 'number', text: scale.area })) : null,
    scale.lines.length || scale.area ? make('p', { class: 'hint', text: say('photo_scale.off') }) : null,
    scale.wrong ? make('p', { class: 'wrong', text: scale.wrong }) : null,
    scale.poor.length ? make('section', { attrs: { 'aria-label': say('photo_scale.poor') } }, make('h2', { class: 'minor', text: say('photo_scale.poor') }), make('ul', { class: 'listed' }, scale.poor.map((text) => make('li', null, text)))) : null,
  ];
}

/** @param {PhotoView} view @param {HTMLElement} body @param {Points} stage */
function askPoints(view, body, stage) {
  const had = stage.stage.contains(document.activeElement) || stage.panel.contains(document.activeElement) ? document.activeElement : null;
  body.append(make('p', { class: 'question steady', key: 'question', attrs: { role: 'status' }, text: question(view, stage) }), stage.stage, stage.panel, view.scale?.found ? make('p', { class: 'note', key: 'found', text: say('photo_scale.found') }) : '', ...results(view).filter((part) => part !== null),
    stage.at < 0 && here.from < 0 ? make('button', { key: 'area', text: say('photo_scale.measure_area'), attrs: { type: 'button' }, on: { click: () => beginArea(stage) } }) : '',
    make('div', { class: 'chips', key: 'chips', attrs: { role: 'group', 'aria-label': say('photo_scale.move') } }, stage.points.map((_, at) => make('button', { key: `point-${at}`, text: nameOf(at), attrs: { type: 'button', 'aria-pressed': String(at === stage.at) }, on: { click: () => { stage.at = at; redraw(); } } }))),
    make('p', { class: 'note', key: 'plane', text: say('photo_scale.plane', { thing: say(`scale.${typed(view).of}_short`) }) }),
    make('details', { key: 'thing' }, make('summary', null, make('span', { text: say('photo_scale.of') }), make('b', { text: `${say(`scale.${typed(view).of}_short`)}, ${typed(view).length} × ${typed(view).width}` })),
      make('div', { class: 'buttons' },
        make('button', { text: say('photo_scale.turn'), attrs: { type: 'button' }, on: { click: () => run(() => set(view, { length: typed(view).width, width: typed(view).length })) } }),
        make('button', { text: say('photo_scale.other_thing'), attrs: { type: 'button' }, on: { click: () => { Object.assign(here, { of: null, choosing: true }); redraw(); } } }),
        make('button', { text: say('photo_scale.anew'), attrs: { type: 'button' }, on: { click: () => run(() => { Object.assign(here, { from: -1 }); return set(view, { points: [], outline: [] }); }) } }),
        typed(view).of === 'target' ? make('button', { text: say('photo_scale.find_again'), attrs: { type: 'button' }, on: { click: () => run(() => findTarget(view)) } }) : ''),
      view.scale ? make('p', { class: 'by', text: say('photo_scale.by', { who: view.scale.by || me(), at: when(view.scale.at) }) }) : null));
  stage.drawSoon();
  // The stage moved with the redraw: what had the focus gets it back.
  if (had instanceof HTMLElement) queueMicrotask(() => had.focus({ preventScroll: true }));
}

/** Sides of a mark as they are called on its face. @param {SizedMark} mark @param {MarkSide} side */
const sideWord = (mark, side) => say(`photo_scale.${['nose', 'rear', 'inside_nose'].includes(mark.surface) ? 'end' : ['roof', 'floor'].includes(mark.surface) ? 'flat' : 'side'}_${side}`);

/** @param {PhotoView} view */
function useDialog(view) {
  const lines = view.scale?.lines ?? [];
  const use = (/** @type {SizedMark} */ mark, /** @type {MarkSide} */ side, /** @type {number} */ line) => make('button', {
    class: 'row', attrs: { type: 'button' }, text: say('photo_scale.use_as', { value: lines[line]?.value ?? '', side: sideWord(mark, side) }),
    on: { click: () => {
      dialog.close();
      run(async () => {
        await ask({ kind: 'size_from_photo', job: job(), sha256: view.photo.sha256, mark: mark.id, side, line });
        queueMicrotask(() => tell(say('photo_scale.used', { mark: mark.words })));
      });
    } },
  });
  const dialog = showDialog(say('photo_scale.use'), ...view.marks.map((mark) => make('section', null, make('h3', { text: mark.words }),
    make('p', { class: 'hint', text: [say('photo_scale.now', { size: mark.size }), mark.from_photo].filter(Boolean).join(', ') }),
    ...lines.flatMap((_, line) => /** @type {MarkSide[]} */ (['along', 'across']).map((side) => use(mark, side, line))))));
}

/** @param {PhotoView} view */
function tray(view) {
  const of = view.photo.of;
  const back = of.of === 'mark' ? { label: say('photo_scale.back_mark'), href: link('mark.html', { job: job(), mark: of.id }) } : { label: say('photos.all'), href: link('photos.html', { job: job() }) };
  const stage = here.points;
  if (!stage || !view.scale || here.choosing) return here.of ? [back, { label: say('photo_scale.to_corners'), main: true, act: () => { sizesTyped(); return keepThing(view); } }] : [back];
  if (here.from >= 0) return areaTray(stage);
  if (stage.at >= 0) {
    const put = Boolean(stage.points[stage.at]);
    const further = () => { stage.at = next(stage.points.length); redraw(); };
    const instead = stage.at === CORNERS && !put ? [{ label: say('photo_scale.measure_area'), key: 'area', act: () => beginArea(stage) }] : [];
    return [back, ...instead, { label: say('photo_scale.next'), main: true, key: 'next', disabled: !put, act: further }];
  }
  const another = { label: say('photo_scale.another'), act: () => { stage.at = stage.points.length; redraw(); } };
  const lines = view.scale.lines.length > 0;
  return lines && view.marks.length > 0 ? [back, another, { label: say('photo_scale.use'), main: true, key: 'use', act: () => useDialog(view) }] : [back, another];
}

/** The corners of the area anew; Undo brings what was there back. @param {Points} stage */
function beginArea(stage) {
  Object.assign(here, { from: stage.points.length, outline: [] });
  stage.at = stage.points.length;
  window.scrollTo(0, 0);
  redraw();
}

/** Corner after corner, until the outline is round. @param {Points} stage */
function areaTray(stage) {
  const corners = stage.points.length - here.from;
  const done = () => {
    const { points, outline } = parted(stage);
    Object.assign(here, { outline, from: -1 });
    Object.assign(stage, { points, at: -1 });
    redraw();
  };
  const further = () => { stage.at = stage.points.length; redraw(); };
  return [{ label: say(corners > 2 ? 'photo_scale.area_done' : 'photo_scale.area_stop'), key: 'area-done', main: false, act: done },
    { label: say('photo_scale.area_next'), main: true, key: 'next', disabled: stage.at >= stage.points.length || corners >= 20, act: further }];
}

/** The point after these: a corner, an end, or none when a length has both. @param {number} many */
const next = (many) => (many < CORNERS || many % 2 || many === CORNERS ? many : -1);

await words();
start({
  title: say('photo_scale.title'),
  load: async (id) => {
    const asked = here.kept;
    shown = await askFor('photo', { kind: 'photo', job: id, sha256: param('photo') });
    // An answer that was on its way while a point was kept is older than that point.
    if (asked === here.kept) takeKept(shown);
    return shown;
  },
  lengths: () => here.of !== null,
  draw: (/** @type {PhotoView} */ view, body) => {
    const stage = stageOf(view);
    if (!stage || view.photo.cannot_show) return body.append(make('p', { class: 'empty', text: say('photo_scale.no_size') }));
    if (here.of) return askSize(view, body);
    if (!view.scale || here.choosing) return askThing(view, body);
    askPoints(view, body, stage);
  },
  tray,
});
