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

/** Holes along a line from its hook: filled new, open reused, doubled for the next size, crossed not used. @param {number} length @param {HoleView[]} holes */
export function holeDrawing(length, holes) {
  const scale = (WIDE - 20) / Math.max(1, length);
  const svg = makeSvg('svg', { class: 'cutting holes', attrs: { viewBox: `0 0 ${WIDE} 40`, 'aria-hidden': 'true' } });
  svg.append(line(10, 20, WIDE - 10, 20, 'base'), line(10, 10, 10, 30, 'scribed'), line(WIDE - 10, 12, WIDE - 10, 28, 'base'));
  for (const hole of holes) {
    const x = 10 + hole.at * scale;
    const circle = (/** @type {number} */ r, /** @type {string} */ name) => makeSvg('circle', { class: name, attrs: { cx: x, cy: 20, r } });
    if (hole.state === 'new') svg.append(circle(3.5, 'hole new'));
    else if (hole.state === 'closed') svg.append(line(x - 5, 15, x + 5, 25, 'base'), line(x - 5, 25, x + 5, 15, 'base'));
    else svg.append(circle(3.5, 'hole'), ...(hole.state === 'next_size' ? [circle(7, 'hole')] : []));
  }
  return svg;
}
