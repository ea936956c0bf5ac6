/**
 * Stock as it is cut, to scale: pieces plain, left-overs hatched, cuts as scribed lines in layout-dye blue with their
 * order in the margin. And holes along a line. The lists beside say the same, so the drawings are silent for a reader.
 */
import { makeSvg } from './make.js';

/** @typedef {import('./types/StockPlan.ts').StockPlan} Plan */
/** @typedef {import('./types/HoleView.ts').HoleView} HoleView */

/** Width of a drawing and its margin for the order of cuts, in its own units. */
const WIDE = 330;
const MARGIN = 26;
/** Height of a bar or tape, and the most that a sheet gets. */
const BAR = 34;
const TALLEST = 330;

let drawn = 0;

/** @param {Record<string, string | number>} attrs @param {string} [name] */
const rect = (attrs, name) => makeSvg('rect', { class: name ?? '', attrs });

/** @param {number} x @param {number} y @param {number} x2 @param {number} y2 @param {string} name */
const line = (x, y, x2, y2, name) => makeSvg('line', { class: name, attrs: { x1: x, y1: y, x2, y2 } });

/** A left-over's hatching. @param {string} id */
const hatch = (id) => makeSvg('defs', {}, makeSvg('pattern', { attrs: { id, width: 8, height: 8, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' } },
  makeSvg('line', { class: 'hatching', attrs: { x1: 0, y1: 0, x2: 0, y2: 8 } })));

/** One piece of stock. @param {Plan} plan */
export function stockDrawing(plan) {
  const sheet = plan.width !== null;
  const across = plan.width ?? 1;
  const scale = sheet ? Math.min((WIDE - MARGIN) / plan.length, TALLEST / across) : (WIDE - MARGIN) / plan.length;
  const high = sheet ? across * scale : BAR;
  const onto = (/** @type {number} */ along) => MARGIN + along * scale;
  const down = (/** @type {number} */ from) => MARGIN + (sheet ? from * scale : 0);
  const tall = (/** @type {number | null} */ width) => (sheet ? (width ?? across) * scale : BAR);
  const id = `hatch-left-${(drawn += 1)}`;
  const svg = makeSvg('svg', { class: 'cutting', attrs: { viewBox: `0 0 ${Math.ceil(onto(plan.length)) + 2} ${Math.ceil(high) + MARGIN + 2}`, 'aria-hidden': 'true' } }, hatch(id));
  for (const left of plan.left) svg.append(rect({ x: onto(left.x), y: down(left.y), width: left.length * scale, height: tall(left.width), fill: `url(#${id})` }, left.keep ? 'left keep' : 'left'));
  plan.pieces.forEach((piece, at) => {
    const [x, y, w, h] = [onto(piece.x), down(piece.y), piece.length * scale, tall(piece.width)];
    svg.append(rect({ x, y, width: w, height: h }, 'piece'));
    if (w > 22 && h > 20) svg.append(makeSvg('text', { class: 'piece-number', text: String(at + 1), attrs: { x: x + w / 2, y: y + h / 2 + 6, 'text-anchor': 'middle' } }));
  });
  svg.append(rect({ x: MARGIN, y: MARGIN, width: plan.length * scale, height: high }, 'stock'));
  let lastTop = -99;
  let lastSide = -99;
  plan.cuts.forEach((cut, at) => {
    const order = String(at + 1);
    if (cut.across) {
      const x = onto(cut.at);
      const [from, to] = sheet ? [down(cut.from), down(cut.to)] : [MARGIN, MARGIN + BAR];
      svg.append(line(x, from - (cut.from === 0 ? 6 : 0), x, to, 'scribed'));
      if (x - lastTop > 18) svg.append(makeSvg('text', { class: 'order', text: order, attrs: { x, y: 16, 'text-anchor': 'middle' } }));
      lastTop = x - lastTop > 18 ? x : lastTop;
    } else {
      const y = down(cut.at);
      svg.append(line(onto(cut.from) - (cut.from === 0 ? 6 : 0), y, onto(cut.to), y, 'scribed'));
      if (Math.abs(y - lastSide) > 16) svg.append(makeSvg('text', { class: 'order', text: order, attrs: { x: MARGIN - 9, y: y + 5, 'text-anchor': 'end' } }));
      lastSide = Math.abs(y - lastSide) > 16 ? y : lastSide;
    }
  });
  return svg;
}

/** Between two holes that can be told apart, and the height of a row with the station that it begins at. */
const APART = 11;
const ROW = 56;
/** More rows than these are no drawing any more. */
const MOST_ROWS = 24;

/** How much of a line of holes stands in a row, so that nearly all stand apart: all of it, or so many spaces between two. @param {number} length @param {HoleView[]} holes */
function ofRow(length, holes) {
  const gaps = holes.slice(1).map((hole, at) => hole.at - (holes[at]?.at ?? 0)).filter((gap) => gap > 0).sort((one, two) => one - two);
  const gap = gaps[Math.floor(gaps.length / 10)] ?? length;
  const rows = Math.min(MOST_ROWS, Math.ceil((length * APART) / (gap * (WIDE - 20))));
  return rows > 1 ? Math.ceil(length / rows / gap) * gap : Math.max(1, length);
}

/**
 * Holes along a line from its hook, in as many rows as it takes to tell them apart, each with the station that it begins
 * at: filled new, open reused, doubled for the next size, crossed not used.
 * @param {number} length @param {HoleView[]} holes @param {(at: number) => string} read
 */
export function holeDrawing(length, holes, read) {
  const part = ofRow(length, holes);
  const rows = Math.max(1, Math.ceil(length / part));
  const scale = (WIDE - 20) / part;
  const [top, high] = rows > 1 ? [38, ROW] : [20, 40];
  const svg = makeSvg('svg', { class: 'cutting holes', attrs: { viewBox: `0 0 ${WIDE} ${high * rows}`, 'aria-hidden': 'true' } });
  for (let row = 0; row < rows; row += 1) {
    const y = top + row * high;
    const end = 10 + Math.min(part, length - row * part) * scale;
    svg.append(line(10, y, end, y, 'base'));
    if (rows > 1) svg.append(makeSvg('text', { class: 'order', text: read(Math.round(row * part)), attrs: { x: 10, y: y - 16 } }));
    if (row === 0) svg.append(line(10, y - 10, 10, y + 10, 'scribed'));
    if (row === rows - 1) svg.append(line(end, y - 8, end, y + 8, 'base'));
  }
  for (const hole of holes) {
    const row = Math.min(rows - 1, Math.floor(hole.at / part));
    const [x, y] = [10 + (hole.at - row * part) * scale, top + row * high];
    const circle = (/** @type {number} */ r, /** @type {string} */ name) => makeSvg('circle', { class: name, attrs: { cx: x, cy: y, r } });
    if (hole.state === 'new') svg.append(circle(3.5, 'hole new'));
    else if (hole.state === 'closed') svg.append(line(x - 5, y - 5, x + 5, y + 5, 'base'), line(x - 5, y + 5, x + 5, y - 5, 'base'));
    else svg.append(circle(3.5, 'hole'), ...(hole.state === 'next_size' ? [circle(7, 'hole')] : []));
  }
  return svg;
}
