/**
 * Cut list: what to cut from which stock or drop, drawn to scale and listed, with marks from one hook of the tape;
 * what is reserved, what is cut already and what of it is kept, and the holes of each line of rivets.
 */
import { ask, askFor } from '../parts/ask.js';
import { holeDrawing, stockDrawing } from '../parts/cut_drawing.js';
import { textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { hello, job, run, start } from '../parts/page.js';
import { tape } from '../parts/tape.js';
import { say, when, words } from '../parts/words.js';
import { begin, link, workingOf } from '../parts/work.js';

/** @typedef {import('../parts/types/CutPlan.ts').CutPlan} CutPlan */
/** @typedef {import('../parts/types/CutDoneRow.ts').CutDoneRow} CutDoneRow */
/** @typedef {import('../parts/types/RivetLineView.ts').RivetLineView} RivetLineView */
/** @typedef {import('../parts/types/Piece.ts').Piece} Piece */
/** @typedef {import('../parts/ask.js').Of<'cut_list'>} CutList */

/** @param {number} nanometres */
const read = (nanometres) => tape(nanometres, hello().unit);

/** @param {{length: number, width: number | null}} of */
const size = (of) => (of.width === null ? read(of.length) : say('cut_list.by', { length: read(of.length), width: read(of.width) }));

/** Pieces that lie alike stand once each, with where they lie. @param {Piece} piece */
const pieceWords = (piece) => [piece.size, say('cut_list.lies', { from: read(piece.x), to: read(piece.x + piece.length) }),
  piece.width === null || (piece.y === 0 && !piece.turned) ? '' : say('cut_list.lies_across', { from: read(piece.y), to: read(piece.y + piece.width) }),
  piece.turned ? say('cut_list.turned') : ''].filter(Boolean).join(' · ');

/** Where the stock comes from, and where it stands. @param {CutPlan} of */
function standing({ plan, reserved, here }) {
  if (!plan.buy) return say(reserved ? 'cut_list.reserved' : 'cut_list.not_reserved');
  return here === null ? say('cut_list.to_buy') : say('cut_list.bought_here', { place: here });
}

/** @param {CutPlan} of */
function planPart(of) {
  const { plan } = of;
  const where = plan.place ? say('cut_list.at', { place: plan.place }) : '';
  return make('section', { class: 'cut', key: 'plan/' + plan.key, attrs: { 'aria-label': `${plan.item}, ${plan.from}` } },
    make('h3', { text: plan.times > 1 ? say('cut_list.alike', { from: plan.from, n: plan.times }) : plan.from }),
    make('p', { text: [plan.size, where, standing(of)].filter(Boolean).join(' · ') }),
    plan.cuts.length ? stockDrawing(plan) : null,
    plan.cuts.length ? make('p', { class: 'quiet', text: say('cut_list.running') }) : make('p', { text: say('cut_list.whole') }),
    plan.cuts.length ? make('ol', { class: 'stations ordered' }, ...plan.cuts.map((cut) => make('li', { text: say(cut.across ? 'cut_list.cut_across' : 'cut_list.cut_along', { at: read(cut.at) }) }))) : null,
    make('details', { key: 'pieces/' + plan.key }, make('summary', {}, make('span', { text: say('cut_list.pieces', { n: plan.pieces.length * plan.times }) }), make('span', { class: 'state', text: plan.pieces.length ? plan.pieces[0]?.size ?? '' : '' })),
      make('ol', { class: 'numbered' }, ...plan.pieces.map((piece) => make('li', { text: pieceWords(piece) })))),
    ...plan.left.map((left) => make('p', { class: 'quiet', text: say(left.keep ? (plan.kind === 'coil' && plan.width === null ? 'cut_list.back' : 'cut_list.keep') : 'cut_list.scrap', { size: size(left) }) })),
    plan.buy && of.here === null ? null : make('button', { class: 'button', key: 'done/' + plan.key, attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'set_cut', job: job(), cut: plan.key, done: true })) } }, say('cut_list.done')));
}

/** A left-over of a cut: kept as a drop with one tap where its stock lay, or at another place. @param {CutDoneRow} cut @param {CutDoneRow['left'][number]} left */
function leftPart(cut, left) {
  const keep = (/** @type {string} */ place) => ask({ kind: 'keep_drop', job: job(), cut: cut.cut, left: left.left, place });
  const key = `left/${cut.cut}/${left.left}`;
  const kept = left.kept.map((place) => make('p', { text: say('cut_list.kept_at', { size: left.size, place }) }));
  const open = left.kept.length < left.count;
  return make('div', { class: 'left-over', key }, ...kept,
    open ? make('p', { text: say('cut_list.left_over', { size: left.size }) }) : null,
    open && left.place ? make('button', { class: 'button', key: key + '/keep', attrs: { type: 'button' }, on: { click: () => run(() => keep(left.place)) } }, say('cut_list.keep_at', { place: left.place })) : null,
    open ? textField({ key: key + '/place', label: say('cut_list.keep_elsewhere'), value: '', hint: say('roof_off.place_hint'), save: async (place) => { if (place.trim()) await keep(place); } }) : null);
}

/** @param {CutDoneRow} cut */
const donePart = (cut) => make('section', { class: 'cut', key: 'cut/' + cut.cut },
  make('h3', { text: say('cut_list.cut_from', { item: cut.item, from: cut.from }) }),
  make('p', { text: cut.pieces.join(' · ') }),
  cut.remark ? make('p', { class: 'notice', text: cut.remark }) : null,
  make('p', { class: 'quiet', text: say('work.by_at', { who: cut.by, when: when(cut.at) }) }),
  ...cut.left.map((left) => leftPart(cut, left)),
  make('button', { class: 'button', key: 'undone/' + cut.cut, attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'set_cut', job: job(), cut: cut.cut, done: false })) } }, say('cut_list.not_done')));

/** @param {RivetLineView} line */
const rivetPart = (line) => make('section', { class: 'cut', key: 'rivets/' + line.key, attrs: { 'aria-label': line.title } },
  make('h3', { text: line.title }),
  make('p', { text: line.words }),
  holeDrawing(line.length, line.holes, read),
  make('p', { class: 'quiet', text: say('cut_list.hook', { hook: line.hook, length: read(line.length) }) }),
  make('details', { key: 'holes/' + line.key }, make('summary', { text: say('cut_list.holes') }),
    make('ol', { class: 'stations' }, ...line.holes.map((hole) => make('li', { text: hole.state === 'new' ? read(hole.at) : say('cut_list.hole_' + hole.state, { at: read(hole.at) }) }))),
    textField({ key: 'measured/' + line.key, label: say('cut_list.measured'), value: line.measured, hint: say('cut_list.measured_hint'), lines: 2, save: (holes) => ask({ kind: 'set_holes', job: job(), line: line.key, holes }) })),
  workingOf(say('figures.working'), line.basis, 'rivets/' + line.key));

/** @param {CutList} view */
function reservedPart(view) {
  if (!view.reserved.length) return view.to_reserve ? make('p', { class: 'stand shut', text: say('cut_list.nothing_reserved') }) : null;
  const odd = view.to_reserve || view.reserved.some((row) => row.remark || row.free || !row.held || !row.wanted);
  return make('details', { class: odd ? 'stand shut' : 'stand', key: 'reserved', attrs: { open: odd } }, make('summary', { text: say(view.to_reserve ? 'cut_list.reserved_other' : 'cut_list.reserved_all') }),
    ...view.reserved.map((row) => make('div', { class: 'book-row' }, make('span', { text: row.name }), make('b', { text: row.amount }),
      make('span', { class: 'quiet', text: [row.place, row.free ? say('cut_list.reserved_free') : row.held ? '' : say('cut_list.reserved_lost'), row.wanted ? '' : say('cut_list.reserved_unused'), say('work.by_at', { who: row.by, when: when(row.at) })].filter(Boolean).join(' · ') }))),
    make('button', { class: 'button', key: 'free', attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'set_reserved', job: job(), reserved: false })) } }, say('cut_list.free_all')));
}

/** @param {CutList} view @param {HTMLElement} body */
function draw(view, body) {
  if (view.why_not) {
    body.append(make('p', { class: 'empty', text: view.why_not }), make('a', { class: 'button', attrs: { href: link('ways.html', { job: job() }) } }, say('ways.title')));
    return;
  }
  const reserved = reservedPart(view);
  if (reserved) body.append(reserved);
  if (view.plans.length) body.append(make('p', { text: say('cut_list.lead') }));
  for (const proof of view.proofs) {
    const plans = view.plans.filter((of) => of.plan.item === proof.item);
    if (!plans.length) continue;
    body.append(make('h2', { text: proof.item }),
      make('p', { class: 'quiet', text: proof.proven ? say('cut_list.proven') : proof.over === null ? say('cut_list.not_proven') : say('cut_list.over', { over: proof.over }) }),
      ...plans.map(planPart));
  }
  if (view.plans.length) body.append(workingOf(say('cut_list.values'), view.basis, 'values'));
  if (view.done.length) body.append(make('h2', { text: say('cut_list.done_title') }), ...view.done.map(donePart));
  if (view.rivets.length) body.append(make('h2', { text: say('cut_list.rivets') }), make('p', { text: say('cut_list.legend') }),
    ...[...new Set(view.rivets.flatMap((line) => line.warnings))].map((warning) => make('p', { class: 'notice', text: warning })), ...view.rivets.map(rivetPart));
}

/** @param {CutList} view */
function tray(view) {
  const buying = { label: view.buying ? say('buying.n', { n: view.buying }) : say('buying.title'), href: link('buying.html', { job: job() }) };
  const check = { ...begin(view.head), main: !view.to_reserve };
  if (!view.to_reserve) return [buying, check];
  return [buying, { label: say('cut_list.reserve'), main: true, act: () => ask({ kind: 'set_reserved', job: job(), reserved: true }) }];
}

await words();
start({ title: 'cut_list.title', load: (/** @type {string} */ id) => askFor('cut_list', { kind: 'cut_list', job: id }), draw, tray });
