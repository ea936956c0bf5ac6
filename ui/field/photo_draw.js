/**
 * Drawing over a photo: arrow, box, line with its length, words. Each is put by its points with the magnifier and
 * kept beside the photo, whose own bytes never change; Undo takes the last one back.
 */
import { ask, askFor } from '../parts/ask.js';
import { textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { drawn } from '../parts/over.js';
import { job, param, redraw, run, start } from '../parts/page.js';
import { Points, hundredths } from '../parts/points.js';
import { say, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/PhotoView.ts').PhotoView} PhotoView */
/** @typedef {import('../parts/types/PhotoShape.ts').PhotoShape} PhotoShape */
/** @typedef {import('../parts/types/Shape.ts').Shape} Shape */
/** @typedef {Shape['kind']} Kind */
/** @typedef {[number, number]} Px */

const KINDS = /** @type {Kind[]} */ (['arrow', 'box', 'line', 'text']);

/** What is being drawn, until it has its points. */
const here = {
  /** @type {Kind | null} */ kind: null, text: '',
  /** @type {Points | null} */ points: null,
};
/** @type {PhotoView | undefined} */
let shown;

/** @param {{id?: string | null, shape: Shape | null}} what */
const keep = ({ id = null, shape }) => ask({ kind: 'draw_on_photo', job: job(), sha256: param('photo'), id, shape });
/** @param {Kind} kind */
const wanted = (kind) => (kind === 'text' ? 1 : 2);

/** @param {PhotoView} view */
function stageOf(view) {
  if (!here.points && view.size) {
    const size = /** @type {Px} */ (view.size);
    here.points = new Points({ sha256: view.photo.sha256, size, alt: say('photo_draw.stage'), changed: redraw, draw });
  }
  return here.points;
}

/** @param {(point: Px) => Px} place */
function draw(place) {
  const shapes = (shown?.photo.shapes ?? []).map(({ shape }) => ({ ...shape, at: /** @type {[Px, Px]} */ (shape.at.map(([x, y]) => place([x / 100, y / 100]))) }));
  const at = (here.points?.points ?? []).map(place);
  const [a, b] = at;
  if (here.kind && a) shapes.push({ kind: here.kind, text: here.text, at: [a, b ?? a] });
  return shapes.flatMap((shape) => drawn(shape));
}

/** @param {Kind | null} kind */
function begin(kind) {
  Object.assign(here, { kind, text: '' });
  const stage = here.points;
  if (stage) Object.assign(stage, { points: [], at: kind ? 0 : -1 });
  window.scrollTo(0, 0);
  redraw();
}

/** Keeps what has its points. */
async function finish() {
  const stage = here.points;
  const [a, b] = hundredths(stage?.points ?? []);
  if (!here.kind || !a) return;
  await keep({ shape: { kind: here.kind, at: [a, b ?? a], text: here.text } });
  begin(null);
}

/** @param {PhotoShape} one @param {number} at */
function row({ id, shape }, at) {
  const name = say('photo_draw.number', { what: say(`photo_draw.${shape.kind}`), n: at + 1 });
  const label = shape.kind === 'line' ? say('photo_draw.words_length') : shape.kind === 'text' ? say('photo_draw.words_of') : say('photo_draw.words');
  return make('li', { class: 'around', key: `shape-${id}` }, make('h3', { text: name }),
    textField({ key: `words-${id}`, label, value: shape.text, save: (text) => keep({ id, shape: { ...shape, text } }) }),
    make('button', { text: say('photo_draw.take_off', { what: name.toLowerCase() }), attrs: { type: 'button' }, on: { click: () => run(() => keep({ id, shape: null })) } }));
}

/** @param {PhotoView} view @param {HTMLElement} body */
function drawAll(view, body) {
  const stage = stageOf(view);
  if (!stage || view.photo.cannot_show) return body.append(make('p', { class: 'empty', text: say('photo_scale.no_size') }));
  const had = stage.stage.contains(document.activeElement) || stage.panel.contains(document.activeElement) ? document.activeElement : null;
  const tools = make('div', { class: 'buttons', key: 'tools', attrs: { role: 'group', 'aria-label': say('photo_draw.what') } }, KINDS.map((kind) => make('button', { key: `tool-${kind}`, text: say(`photo_draw.${kind}`), attrs: { type: 'button', 'aria-pressed': String(kind === here.kind) }, on: { click: () => begin(kind) } })));
  const asked = here.kind ? say(`photo_draw.${here.kind}_${Math.min(stage.at, wanted(here.kind) - 1) + 1}`) : say('photo_draw.what');
  const shapes = view.photo.shapes;
  body.append(make('p', { class: 'question', key: 'question', attrs: { role: 'status' }, text: asked }), here.kind ? '' : tools,
    here.kind === 'text' ? textField({ key: 'new-words', label: say('photo_draw.new_words'), value: here.text, quiet: true, save: async (text) => { here.text = text; stage.draw(); } }) : '',
    stage.stage, stage.panel,
    make('h2', { text: say('photo_draw.list') }),
    shapes.length ? make('ul', { key: 'shapes' }, shapes.map(row)) : make('p', { class: 'hint', text: say('photo_draw.none') }));
  stage.drawSoon();
  if (had instanceof HTMLElement) queueMicrotask(() => had.focus({ preventScroll: true }));
}

/** @param {PhotoView} view */
function tray(view) {
  const of = view.photo.of;
  const back = of.of === 'mark' ? { label: say('photo_scale.back_mark'), href: link('mark.html', { job: job(), mark: of.id }) } : { label: say('photos.all'), href: link('photos.html', { job: job() }) };
  const stage = here.points;
  if (!here.kind || !stage) return [back, { label: say('photo_draw.measure'), href: link('photo_scale.html', { job: job(), photo: param('photo') }) }];
  const put = Boolean(stage.points[stage.at]);
  const stop = { label: say('photo_draw.stop'), act: () => begin(null) };
  const last = stage.at + 1 >= wanted(here.kind);
  return [stop, { label: say(last ? 'photo_draw.put' : 'photo_draw.next'), key: 'next', main: true, disabled: !put, act: last ? finish : () => { stage.at += 1; redraw(); } }];
}

await words();
start({
  title: say('photo_draw.title'),
  load: async (id) => {
    shown = await askFor('photo', { kind: 'photo', job: id, sha256: param('photo') });
    return shown;
  },
  draw: drawAll,
  tray,
});
