/**
 * What people drew over a photo, and what they measured in it: a drawing that lies over the picture. Each line is
 * drawn twice, white below blue, so that it shows on any photo; the picture itself is never changed.
 */
import { photoUrl } from './ask.js';
import { make, makeSvg } from './make.js';

/** @typedef {[number, number]} Px */
/** @typedef {import('./types/Photo.ts').Photo} Photo */
/** @typedef {import('./types/Shape.ts').Shape} Shape */

const BARB = 16;

/** A line twice: white below, blue above. @param {string} d @param {string} [dash] */
export const twice = (d, dash) => ['under', 'ink'].map((name) => makeSvg('path', { class: name, attrs: { d, 'stroke-dasharray': name === 'ink' ? dash : null } }));

/** Words with a white edge. @param {Px} at @param {string} text */
export const words = ([x, y], text) => makeSvg('text', { text, attrs: { x: x.toFixed(1), y: y.toFixed(1) } });

/** @param {...Px} points */
export const lineTo = (...points) => points.map(([x, y], at) => `${at ? 'L' : 'M'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');

/** A short stroke across the end of a measured line. @param {Px} end @param {Px} other */
function across([x, y], [ox, oy]) {
  const far = Math.hypot(ox - x, oy - y) || 1;
  const [ax, ay] = [((oy - y) / far) * 9, ((x - ox) / far) * 9];
  return lineTo([x - ax, y - ay], [x + ax, y + ay]);
}

/** @param {Px} tail @param {Px} tip */
function barbs([x1, y1], [x2, y2]) {
  const far = Math.hypot(x2 - x1, y2 - y1) || 1;
  const [ux, uy] = [((x2 - x1) / far) * BARB, ((y2 - y1) / far) * BARB];
  return lineTo([x2 - ux - uy * 0.6, y2 - uy + ux * 0.6], [x2, y2], [x2 - ux + uy * 0.6, y2 - uy - ux * 0.6]);
}

/** A measured line with its ends and its length. @param {Px} a @param {Px} b @param {string} text */
export const measure = (a, b, text) => [...twice(lineTo(a, b) + across(a, b) + across(b, a)), ...(text ? [words([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 8], text)] : [])];

/** A shape whose points are where they lie on the screen. @param {Shape} shape @returns {SVGElement[]} */
export function drawn({ kind, at: [a, b], text }) {
  if (kind === 'line') return measure(a, b, text);
  const d = kind === 'arrow' ? lineTo(a, b) + barbs(a, b) : kind === 'box' ? `${lineTo(a, [b[0], a[1]], b, [a[0], b[1]])}Z` : '';
  return [...(d ? twice(d) : []), ...(text ? [words(kind === 'text' ? a : [a[0], Math.min(a[1], b[1]) - 8], text)] : [])];
}

/**
 * A photo's large copy with what is drawn over it.
 * @param {Photo} photo @param {string} alt @param {'large' | 'small'} [size]
 */
export function picture(photo, alt, size = 'large') {
  const image = make('img', { class: 'large', attrs: { src: photoUrl(photo.sha256, size), alt } });
  const over = makeSvg('svg', { class: 'over-photo', attrs: { 'aria-hidden': 'true' } });
  const box = make('div', { class: 'drawn' }, image, over);
  const original = photo.size;
  if (!original || photo.shapes.length === 0) return box;
  const draw = () => {
    const scale = image.clientWidth / original[0] / 100;
    while (over.firstChild) over.firstChild.remove();
    for (const { shape } of photo.shapes) over.append(...drawn({ ...shape, at: /** @type {[Px, Px]} */ (shape.at.map(([x, y]) => [x * scale, y * scale])) }));
  };
  new ResizeObserver(draw).observe(image);
  return box;
}
