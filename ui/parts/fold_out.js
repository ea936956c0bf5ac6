/**
 * The body unfolded, drawn to scale: nose up on an upright screen, nose to the left on a wide one. The drawing
 * scrolls in its own window and the words of the marks stand in the margin with leaders, never over it.
 */
import { make, makeSvg, replace } from './make.js';
import { say, wordOf } from './words.js';

/** @typedef {import('./types/FoldOutView.ts').FoldOutView} FoldOutView */
/** @typedef {import('./types/MarkRow.ts').MarkRow} MarkRow */
/** @typedef {import('./types/Drawn.ts').Drawn} Drawn */
/** @typedef {[number, number, number, number]} Four left, top, width, height in nanometres, or x1, y1, x2, y2 */
/**
 * @typedef {object} Drawing
 * @property {FoldOutView} view
 * @property {boolean} [inside] the inside sheet instead of the outside
 * @property {number} [width] room in px, the window's if absent
 * @property {number} [height]
 * @property {number} [zoom] 1 shows the whole sheet
 * @property {[number, number]} [centre] what the window is centred on, nanometres
 * @property {(x: number, y: number) => void} [onTap] a tap, in the drawing's nanometres
 * @property {(zoom: number, centre: [number, number]) => void} [onZoom] a pinch ended
 * @property {(centre: [number, number]) => void} [onMove] the window was moved
 * @property {(mark: MarkRow) => string | null} [link] where the words of a mark lead
 * @property {[number, number] | null} [point] first tap
 * @property {Four | null} [picked] chosen rectangle
 * @property {'in' | 'mm'} [unit]
 * @property {HTMLElement[]} [controls] buttons that stand in the margin, in thumb's reach; one of class `wider` has a row of its own
 */

/** Hatching of each kind: turn in degrees, gap in px, stroke, dashes, and what is drawn. */
const HATCH = /** @type {Record<string, {turn?: number, gap: number, line?: number, dash?: string, also?: 'cross' | 'dots' | 'rings' | 'zigzag'}>} */ ({
  hole: { turn: 45, gap: 6, line: 1.6, also: 'cross' }, tear: { turn: 45, gap: 6, line: 2 }, crease: { turn: 0, gap: 7, line: 1.6, dash: '5 3' },
  dent: { turn: 135, gap: 7, line: 1.4 }, bend: { turn: 0, gap: 5, line: 1.8 }, crack: { gap: 8, line: 1.5, also: 'zigzag' }, gouge: { turn: 20, gap: 4, line: 1.2 },
  corrosion: { gap: 5, also: 'dots' }, loose_fasteners: { gap: 9, line: 1.3, also: 'rings' }, missing: { turn: 0, gap: 9, line: 1.3, also: 'cross' },
  broken: { turn: 70, gap: 6, line: 2, dash: '7 3' }, leak: { turn: 90, gap: 6, line: 1.8, dash: '2 3' }, delamination: { turn: 90, gap: 5, line: 1.2 }, water_stained: { gap: 9, also: 'dots' },
});
export const KINDS = Object.keys(HATCH);

/** How far apart stations may stand along the edge, as a tape has its marks. */
const STATIONS = { in: [6, 12, 24, 48, 96], mm: [100, 200, 500, 1000, 2000] };

/** Hatching of a kind as an SVG pattern. @param {string} kind */
function pattern(kind) {
  const h = HATCH[kind] ?? { gap: 6, line: 1 };
  const g = h.gap;
  const line = (/** @type {string} */ d) => makeSvg('path', { class: 'hatch', attrs: { d, 'stroke-width': h.line, 'stroke-dasharray': h.dash } });
  const drawn = {
    dots: () => [makeSvg('circle', { class: 'hatch filled', attrs: { cx: g / 2, cy: g / 2, r: 1.3 } })],
    rings: () => [makeSvg('circle', { class: 'hatch', attrs: { cx: g / 2, cy: g / 2, r: 2.6, 'stroke-width': h.line } })],
    zigzag: () => [line(`M0 0L${g / 2} ${g / 2}L0 ${g}`)],
    cross: () => [line(`M0 0V${g}M0 0H${g}`)],
    plain: () => [line(`M0 ${g / 2}H${g * 12}`)],
  }[h.also ?? 'plain']();
  const size = h.dash ? g * 2 : g;
  return makeSvg('pattern', { attrs: { id: `hatch-${kind}`, width: size, height: g, patternUnits: 'userSpaceOnUse', patternTransform: h.turn ? `rotate(${-h.turn})` : null } },
    makeSvg('rect', { class: 'hatch ground', attrs: { width: size, height: g } }), drawn);
}

const notSeen = () => makeSvg('pattern', { attrs: { id: 'hatch-not-seen', width: 14, height: 14, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(-45)' } },
  makeSvg('path', { class: 'hatch faint', attrs: { d: 'M0 7H14' } }));

/** A small piece of a kind's hatching, to stand beside its word. @param {string} kind */
export function swatch(kind) {
  const one = pattern(kind);
  one.id = `swatch-${kind}`;
  return makeSvg('svg', { class: 'swatch fold', attrs: { viewBox: '0 0 40 28', 'aria-hidden': 'true' } }, makeSvg('defs', null, one),
    makeSvg('rect', { class: 'mark', attrs: { x: 1, y: 1, width: 38, height: 26, fill: `url(#swatch-${kind})` } }));
}

/** How the drawing's nanometres come onto the screen: to scale, turned so that the nose is left on a wide screen. */
class Onto {
  /** @param {[number, number]} size @param {boolean} lying @param {number} scale px a nanometre @param {number} ruler px @param {number} right px that stay free at the right */
  constructor(size, lying, scale, ruler, right) {
    this.lying = lying;
    this.w = size[0];
    this.scale = scale;
    this.ruler = ruler;
    this.width = (lying ? size[1] : size[0]) * scale + (lying ? 2 : ruler + right + 2);
    this.height = (lying ? size[0] : size[1]) * scale + (lying ? ruler + 2 : 2);
  }

  /** @param {number} x @param {number} y @returns {[number, number]} */
  at(x, y) {
    return this.lying ? [y * this.scale + 1, (this.w - x) * this.scale + 1] : [x * this.scale + this.ruler, y * this.scale + 1];
  }

  /** @param {number} px @param {number} py @returns {[number, number]} */
  from(px, py) {
    return this.lying ? [this.w - (py - 1) / this.scale, (px - 1) / this.scale] : [(px - this.ruler) / this.scale, (py - 1) / this.scale];
  }

  /** @param {Four} rect */
  box([x, y, w, h]) {
    const [ax, ay] = this.at(x, y);
    const [bx, by] = this.at(x + w, y + h);
    return { x: Math.min(ax, bx), y: Math.min(ay, by), width: Math.abs(bx - ax), height: Math.abs(by - ay) };
  }
}

/** Numbers as runs: `1 to 6, 9`. @param {number[]} numbers */
export function runs(numbers) {
  /** @type {[number, number][]} */
  const found = [];
  for (const n of numbers) {
    const end = found[found.length - 1];
    if (end && end[1] === n - 1) end[1] = n;
    else found.push([n, n]);
  }
  return found.map(([a, b]) => (a === b ? `${a}` : b === a + 1 ? `${a}, ${b}` : say('mark.run', { from: a, to: b }))).join(', ');
}

/** Of what age a mark is, where somebody said it: it decides who pays. @param {MarkRow} mark */
const aged = (mark) => (mark.age === 'not_known' ? wordOf('damage', mark.kind) : say('fold_out.aged', { kind: wordOf('damage', mark.kind), age: wordOf('age', mark.age) }));

/** A mark in the few words that have room beside the drawing: its part, and the bows or posts that it reaches. @param {MarkRow} mark */
function shortly(mark) {
  const hit = mark.hits.find((h) => (h.part === 'roof_bow' || h.part === 'side_post') && h.numbers.length > 0);
  return hit ? `${wordOf('part', mark.part)}, ${say(`fold_out.${hit.part}`, { n: hit.numbers.length, numbers: runs(hit.numbers) })}` : wordOf('part', mark.part);
}

const four = (/** @type {readonly unknown[]} */ numbers) => /** @type {Four} */ (numbers.map(Number));

/**
 * Draws the fold-out.
 * @param {Drawing} drawing
 * @returns {HTMLElement}
 */
export function drawFoldOut(drawing) {
  const { view, inside = false, zoom = 1 } = drawing;
  const sheet = inside ? view.inside : view.outside;
  const size = /** @type {[number, number]} */ (sheet.size.map(Number));
  const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
  const width = Math.max(140, drawing.width ?? Math.min(document.documentElement.clientWidth - 24, 1400));
  const lying = width > 700;
  // With very large text there is no room beside the drawing: the words stand under it, and the drawing is as broad as the page.
  const stacked = !lying && (rem > 22 || width < 300);
  // Room for the longest station in the shop's unit.
  const ruler = (drawing.unit === 'mm' ? 54 : 36) * (stacked ? 1.3 : 1);
  const margin = stacked ? 0 : lying ? 4.5 * rem : Math.min(7.2 * rem, width * 0.42);
  const room = lying ? width : width - margin;
  const height = (drawing.height ?? Math.max(360, window.innerHeight - 260)) - (lying ? margin : 0);
  const fit = lying ? Math.min(room / size[1], (height - ruler) / size[0]) : Math.min((room - ruler - 2) / size[0], stacked ? Infinity : (height - 2) / size[1]);
  // The name over the side at the right may be broader than the side: it gets some room of the margin, and is neither cut off nor lies on the nose.
  const last = lastOf(sheet);
  const beyond = lying ? 0 : Math.max(0, broad(wordOf('face', last.surface), stacked) + 5 - Number(last.rect[2]) * fit * zoom);
  const onto = new Onto(size, lying, fit * zoom, ruler, beyond);
  const svg = makeSvg('svg', { attrs: { width: onto.width, height: onto.height, role: 'img', 'aria-label': say('fold_out.picture', { n: view.marks.length }) } },
    makeSvg('defs', null, KINDS.map(pattern), notSeen()));
  drawBody(svg, sheet, onto, view, drawing.unit ?? 'in', inside, zoom > 1.5, stacked);
  const marks = view.marks.filter((mark) => mark.inside === inside);
  for (const mark of marks) svg.appendChild(makeSvg('rect', { class: mark.age === 'old' ? 'mark old' : 'mark', attrs: { ...onto.box(four(mark.rect)), fill: `url(#hatch-${mark.kind})` } }));
  const seams = inside ? [] : view.seams.map((seam) => ({ line: four(seam.line), words: seam.words }));
  for (const seam of seams) svg.appendChild(lineOf(seam.line, onto, 'seam'));
  if (drawing.point) svg.appendChild(cross(onto.at(...drawing.point)));
  if (drawing.picked) svg.appendChild(makeSvg('rect', { class: 'picked', attrs: onto.box(drawing.picked) }));

  const window_ = make('div', { class: 'sheet', attrs: { tabindex: 0, role: 'group', 'aria-label': say('fold_out.window') } }, svg);
  window_.style.width = `${Math.min(onto.width, stacked ? room : room + beyond)}px`;
  window_.style.height = `${stacked ? onto.height / zoom : Math.min(onto.height, height)}px`;
  const aside = make('div', { class: 'margin' });
  if (!stacked) aside.style[lying ? 'height' : 'width'] = `${margin - beyond}px`;
  const words = make('div', { class: 'words' });
  const controls = make('div', { class: 'controls' }, drawing.controls ?? []);
  replace(aside, words, controls);
  const leaders = makeSvg('svg', { class: 'leaders', attrs: { 'aria-hidden': 'true' } });
  const fold = make('div', { class: lying ? 'fold lying' : stacked ? 'fold stacked' : 'fold' }, window_, aside, leaders);
  const labels = [...marks.map((mark) => ({ box: onto.box(four(mark.rect)), words: [aged(mark), shortly(mark)], href: drawing.link?.(mark) ?? null })),
    ...seams.map(({ line: [x1, y1, x2, y2], words }) => ({ box: onto.box(four([x1, y1, x2 - x1, y2 - y1])), words: [words], href: null }))];
  const taken = () => (drawing.controls ? (lying ? controls.offsetWidth : controls.offsetHeight) + 8 : 0);
  const place = () => stacked ? replace(words, labels.map(wordsOf)) : placeWords(labels, window_, words, leaders, lying, 9.5 * rem, (lying ? Math.max(window_.offsetWidth, aside.clientWidth) : window_.offsetHeight) - taken());
  window_.addEventListener('scroll', () => {
    place();
    drawing.onMove?.(onto.from(window_.scrollLeft + window_.clientWidth / 2, window_.scrollTop + window_.clientHeight / 2));
  });
  if (drawing.onTap) svg.addEventListener('click', (event) => {
    const at = svg.getBoundingClientRect();
    drawing.onTap?.(...onto.from(event.clientX - at.left, event.clientY - at.top));
  });
  if (drawing.onZoom) pinch(window_, svg, onto, zoom, drawing.onZoom);
  requestAnimationFrame(() => {
    const [cx, cy] = onto.at(...(drawing.centre ?? [size[0] / 2, size[1] / 2]));
    window_.scrollTo(cx - window_.clientWidth / 2, cy - window_.clientHeight / 2);
    place();
  });
  return fold;
}

/** @param {Four} line @param {Onto} onto @param {string} look */
function lineOf([x1, y1, x2, y2], onto, look) {
  const [ax, ay] = onto.at(x1, y1);
  const [bx, by] = onto.at(x2, y2);
  return makeSvg('line', { class: look, attrs: { x1: ax, y1: ay, x2: bx, y2: by } });
}

/** @param {[number, number]} at */
function cross([x, y]) {
  return makeSvg('path', { class: 'point', attrs: { d: `M${x - 16} ${y}H${x + 16}M${x} ${y - 16}V${y + 16}` } });
}

/**
 * Faces, bows, posts, rails, their numbers where they have room, and the stations along the edge.
 * @param {SVGSVGElement} svg @param {FoldOutView['outside']} sheet @param {Onto} onto @param {FoldOutView} view @param {'in' | 'mm'} unit @param {boolean} inside @param {boolean} zoomed
 * @param {boolean} stacked
 */
function drawBody(svg, sheet, onto, view, unit, inside, zoomed, stacked) {
  for (const face of sheet.faces) svg.appendChild(makeSvg('rect', { class: inside && view.head.not_seen ? 'face aside' : 'face', attrs: onto.box(four(face.rect)) }));
  const last = lastOf(sheet);
  const order = ['post', 'bow', 'sheet_joint', 'roof_seam', 'door', 'rail'];
  const patches = sheet.lines.filter((line) => line.what === 'earlier_patch');
  for (const line of sheet.lines.filter((line) => !patches.includes(line)).sort((a, b) => order.indexOf(a.what) - order.indexOf(b.what))) {
    svg.appendChild(lineOf(four(line.line), onto, line.what));
    if (line.what === 'rail') svg.appendChild(lineOf(four(line.line), onto, 'rail-core'));
  }
  number(svg, sheet.lines.filter((l) => l.what === 'bow'), onto, 34);
  if (zoomed) number(svg, sheet.lines.filter((l) => l.what === 'post'), onto, 34);
  // A small patch would vanish under a bow's number.
  for (const line of patches) svg.appendChild(lineOf(four(line.line), onto, line.what));
  for (const face of sheet.faces) {
    const name = wordOf('face', face.surface);
    const box = onto.box(four(face.rect));
    const { x, y, anchor } = faceName(face.surface, box, onto);
    // A word that is broader than its side stands clear of the nose: beyond the side at the right, over the ruler at the left.
    const half = broad(name, stacked) / 2;
    const side = !onto.lying && /(curb|road)side$/.test(face.surface) && half * 2 + 4 > box.width;
    const clear = !side ? x : face === last ? box.x + half + 4 : box.x + box.width - half - 3;
    svg.appendChild(makeSvg('text', { text: name, attrs: { x: clear, y, 'text-anchor': anchor } }));
  }
  stations(svg, sheet, onto, unit);
}

/** The face at the right of an upright drawing. @param {FoldOutView['outside']} sheet */
const lastOf = (sheet) => sheet.faces.reduce((a, b) => (Number(b.rect[0]) > Number(a.rect[0]) ? b : a));

/** How broad words in the drawing are, px; under a stacked drawing they are larger. @param {string} text @param {boolean} stacked */
function broad(text, stacked) {
  const pen = document.createElement('canvas').getContext('2d');
  if (!pen) return text.length * 9;
  pen.font = `${stacked ? 20 : 16}px ${getComputedStyle(document.body).fontFamily}`;
  return pen.measureText(text).width;
}

/**
 * Names stand where nothing else is: of the sides in the free corners beside the nose, of the ends in their middle.
 * @param {string} surface @param {{x: number, y: number, width: number, height: number}} box @param {Onto} onto
 * @returns {{x: number, y: number, anchor: string}}
 */
function faceName(surface, box, onto) {
  if (surface === 'nose' || surface === 'inside_nose' || surface === 'rear') return { x: box.x + box.width / 2, y: box.y + box.height / 2 + 5, anchor: 'middle' };
  if (surface === 'roof' || surface === 'floor') return { x: box.x + box.width - 8, y: box.y + box.height - 8, anchor: 'end' };
  if (onto.lying) return { x: box.x - 8, y: box.y + box.height / 2 + 5, anchor: 'end' };
  return { x: box.x + box.width / 2, y: box.y - 8, anchor: 'middle' };
}

/**
 * Numbers of bows or posts, on their lines, as many as stand clear of each other and of the name at the rear end.
 * @param {SVGSVGElement} svg @param {Drawn[]} lines @param {Onto} onto @param {number} apart px
 */
function number(svg, lines, onto, apart) {
  /** @type {Map<number, {first: number, gap: number}>} */
  const sides = new Map();
  const end = Math.max(...lines.map((line) => onto.at(0, Number(line.line[1]))[onto.lying ? 0 : 1]));
  for (const line of lines) {
    if (line.number === null) continue;
    const [x1, y1, x2] = four(line.line);
    const [px, py] = onto.at(Math.min(x1, x2), y1);
    const along = onto.lying ? px : py;
    const side = sides.get(x1);
    if (side && !side.gap) side.gap = Math.ceil(apart / Math.max(1, along - side.first));
    if (!side) sides.set(x1, { first: along, gap: 0 });
    else if ((line.number - 1) % side.gap !== 0 || end - along < apart) continue;
    svg.appendChild(makeSvg('text', { class: 'number-of', text: String(line.number), attrs: onto.lying ? { x: px, y: py - 6, 'text-anchor': 'middle' } : { x: px + 6, y: py + 5 } }));
  }
}

/** @param {SVGSVGElement} svg @param {FoldOutView['outside']} sheet @param {Onto} onto @param {'in' | 'mm'} unit */
function stations(svg, sheet, onto, unit) {
  const long = sheet.faces.find((f) => f.surface === 'roof' || f.surface === 'floor') ?? sheet.faces[0];
  if (!long) return;
  const [, top, , length] = four(long.rect);
  const side = Math.min(...sheet.faces.map((f) => Number(f.rect[0])));
  const one = unit === 'mm' ? 1e6 : 25.4e6;
  const needed = (onto.lying ? 48 : 24) / (one * onto.scale);
  const step = STATIONS[unit].find((s) => s >= needed) ?? STATIONS[unit].at(-1) ?? 1;
  for (let n = 0; n * one <= length; n += step) {
    const [x, y] = onto.at(side, top + n * one);
    svg.appendChild(makeSvg('line', { class: 'edge', attrs: onto.lying ? { x1: x, y1: y, x2: x, y2: y + 5 } : { x1: x - 5, y1: y, x2: x, y2: y } }));
    const text = n === 0 ? say(`fold_out.station_${unit}`) : String(n);
    svg.appendChild(makeSvg('text', { class: 'number-of', text, attrs: onto.lying ? { x: x + 2, y: y + 20 } : { x: x - 6, y: y + (n === 0 ? 12 : 6), 'text-anchor': 'end' } }));
  }
}

/** @typedef {{box: {x: number, y: number, width: number, height: number}, words: (string | undefined)[], href: string | null}} Label */

/** @param {Label} label @returns {HTMLElement} */
const wordsOf = ({ words, href }) => make(href ? 'a' : 'span', { attrs: { href } }, make('b', { text: words[0] }), words.slice(1).join(', '));

/**
 * Puts the words into the margin (beside an upright drawing, below a lying one), each as near as it can be to what
 * it names, with its leader to the part that is in sight.
 * @param {Label[]} labels @param {HTMLElement} window_ @param {HTMLElement} aside @param {SVGSVGElement} leaders
 * @param {boolean} lying @param {number} broad width of a label under a lying drawing, px
 * @param {number} length room for labels along the margin, px
 */
function placeWords(labels, window_, aside, leaders, lying, broad, length) {
  const { scrollLeft, scrollTop, clientWidth, clientHeight } = window_;
  const within = (/** @type {number} */ value, /** @type {number} */ most) => Math.max(4, Math.min(value, most - 4));
  const seen = labels.map((label) => ({ label, left: label.box.x - scrollLeft, top: label.box.y - scrollTop }))
    .filter(({ label, left, top }) => left + label.box.width > 0 && left < clientWidth && top + label.box.height > 0 && top < clientHeight)
    .map(({ label, left, top }) => {
      const [w, h] = [label.box.width, label.box.height];
      return { label, x: within(lying ? left + w / 2 : left + w, clientWidth), y: within(lying ? top + h : top + h / 2, clientHeight) };
    })
    .sort((a, b) => (lying ? a.x - b.x : a.y - b.y));
  const least = lying ? broad : 56;
  const fits = Math.max(1, Math.floor(length / least));
  const put = (/** @type {number} */ count) => {
    const shown = seen.slice(0, count);
    const rows = shown.map(({ label }) => wordsOf(label));
    if (seen.length > count) rows.push(make('span', { text: say('fold_out.more_marks', { n: seen.length - count }) }));
    replace(aside, rows);
    if (lying) for (const row of rows) row.style.width = `${broad - 8}px`;
    return { shown, rows, sizes: rows.map((row) => (lying ? broad : row.offsetHeight + 8)) };
  };
  let { shown, rows, sizes } = put(seen.length > fits ? fits - 1 : seen.length);
  // Words of several lines may need more than was reckoned: they never lie under the buttons.
  while (shown.length > 1 && sizes.reduce((sum, size) => sum + size, 0) > length + 8) ({ shown, rows, sizes } = put(shown.length - 1));
  // Below a lying drawing the page goes on under the longest of them.
  if (lying && aside.parentElement) aside.parentElement.style.minHeight = `${Math.max(0, ...rows.map((row) => row.offsetHeight)) + 8}px`;
  const wanted = [...shown.map((l) => (lying ? l.x - 12 : l.y - 14)), ...(rows.length > shown.length ? [length] : [])];
  const at = apart(wanted, sizes, length);
  rows.forEach((row, i) => { row.style[lying ? 'left' : 'top'] = `${at[i]}px`; });
  replace(leaders, shown.map((l, i) => makeSvg('path', { class: 'leader', attrs: { d: `M${l.x} ${l.y}L${lying ? `${(at[i] ?? 0) + 12} ${window_.offsetHeight + 2}` : `${window_.offsetWidth + 4} ${(at[i] ?? 0) + 14}`}` } })));
}

/**
 * Places along a line, in order and clear of each other, as near to the wanted ones as that leaves.
 * @param {number[]} wanted @param {number[]} sizes @param {number} length
 */
function apart(wanted, sizes, length) {
  const at = [...wanted];
  for (let i = 1; i < at.length; i += 1) at[i] = Math.max(at[i] ?? 0, (at[i - 1] ?? 0) + (sizes[i - 1] ?? 0));
  let limit = length;
  for (let i = at.length - 1; i >= 0; i -= 1) {
    at[i] = Math.min(at[i] ?? 0, limit - (sizes[i] ?? 0));
    limit = at[i] ?? 0;
  }
  let least = 0;
  return at.map((place, i) => {
    const here = Math.max(least, place);
    least = here + (sizes[i] ?? 0);
    return here;
  });
}

/**
 * Two fingers zoom; the drawing is made anew when they are lifted.
 * @param {HTMLElement} window_ @param {SVGSVGElement} svg @param {Onto} onto @param {number} zoom @param {(zoom: number, centre: [number, number]) => void} done
 */
function pinch(window_, svg, onto, zoom, done) {
  let apart = 0;
  let by = 1;
  /** @type {[number, number]} */
  let centre = [0, 0];
  const gap = (/** @type {TouchList} */ t) => Math.hypot((t[0]?.clientX ?? 0) - (t[1]?.clientX ?? 0), (t[0]?.clientY ?? 0) - (t[1]?.clientY ?? 0));
  window_.addEventListener('touchstart', (event) => {
    if (event.touches.length !== 2) return;
    const at = svg.getBoundingClientRect();
    const [a, b] = [event.touches[0], event.touches[1]];
    const middle = /** @type {[number, number]} */ ([((a?.clientX ?? 0) + (b?.clientX ?? 0)) / 2 - at.left, ((a?.clientY ?? 0) + (b?.clientY ?? 0)) / 2 - at.top]);
    apart = gap(event.touches);
    centre = onto.from(...middle);
    svg.style.transformOrigin = `${middle[0]}px ${middle[1]}px`;
  }, { passive: true });
  window_.addEventListener('touchmove', (event) => {
    if (event.touches.length !== 2 || apart === 0) return;
    event.preventDefault();
    by = Math.max(1 / zoom, Math.min(8 / zoom, gap(event.touches) / apart));
    svg.style.transform = `scale(${by})`;
  }, { passive: false });
  const end = () => {
    if (apart === 0) return;
    apart = 0;
    svg.style.transform = '';
    if (by !== 1) done(zoom * by, centre);
  };
  window_.addEventListener('touchend', end);
  window_.addEventListener('touchcancel', end);
}
