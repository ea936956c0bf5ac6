/**
 * Putting points on a photo exactly with a finger: a tap puts a point, and the magnifier stands below the photo,
 * where no finger hides it. The point is moved on by dragging in the magnifier, by four arrows, or by the arrow
 * keys. Points are pixels of the upright original.
 */
import { photoUrl } from './ask.js';
import { make, makeSvg } from './make.js';
import { lineTo, twice } from './over.js';
import { say } from './words.js';

/** @typedef {[number, number]} Px */
/** @typedef {{sha256: string, size: [number, number], alt: string, changed: () => void, draw: (place: (point: Px) => Px) => SVGElement[]}} Wanted */

/** The longer side of a photo is this many times what the magnifier shows. */
const CLOSER = 32;
/** Pixels of the longer side of the copy on the screen. */
const COPY = 2000;
/** Steps of the arrows. @type {Record<string, Px>} */
const ARROWS = { ArrowUp: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, 1] };
const FACES = { ArrowUp: '▲', ArrowLeft: '◀', ArrowRight: '▶', ArrowDown: '▼' };

/** A photo on which points are put. `at` is the number of the one that is put now; -1 for none. */
export class Points {
  /** @param {Wanted} wanted */
  constructor(wanted) {
    this.wanted = wanted;
    /** @type {Px[]} */ this.points = [];
    this.at = -1;
    this.dragging = false;
    const [width, height] = wanted.size;
    this.longer = Math.max(width, height);
    this.step = Math.max(1, this.longer / COPY);
    const url = photoUrl(wanted.sha256, 'large');
    this.over = makeSvg('svg', { class: 'over-photo', attrs: { 'aria-hidden': 'true' } });
    this.stage = make('div', { class: 'stage', key: 'stage', attrs: { tabindex: 0, role: 'application', 'aria-label': wanted.alt } },
      make('img', { attrs: { src: url, alt: '', draggable: 'false' } }), this.over);
    this.stage.style.aspectRatio = `${width} / ${height}`;
    this.stage.style.width = `min(100%, calc(42vh * ${width / height}))`;
    this.magnifier = make('div', { class: 'magnifier', attrs: { 'aria-hidden': 'true' } });
    this.magnifier.style.backgroundImage = `url("${url}")`;
    this.panel = make('div', { class: 'panel', key: 'panel' }, this.magnifier,
      make('div', { class: 'arrows', attrs: { role: 'group', 'aria-label': say('points.arrows') } }, Object.keys(ARROWS).map((name) => this.arrow(name))));
    this.hear();
    new ResizeObserver(() => this.draw()).observe(this.stage);
  }

  /** @param {string} name */
  arrow(name) {
    const face = /** @type {Record<string, string>} */ (FACES)[name] ?? '';
    return make('button', { class: name, key: name, text: face, attrs: { type: 'button', 'aria-label': say(`points.${name}`) }, on: { click: () => this.nudge(ARROWS[name] ?? [0, 0], 1) } });
  }

  hear() {
    const { stage, magnifier } = this;
    this.drag(stage, (event) => {
      const box = stage.getBoundingClientRect();
      const scale = this.wanted.size[0] / box.width;
      this.put([(event.clientX - box.left) * scale, (event.clientY - box.top) * scale]);
    });
    /** @type {{x: number, y: number, from: Px} | null} */
    let held = null;
    this.drag(magnifier, (event, first) => {
      const now = this.points[this.at];
      if (!now) return;
      if (first || !held) held = { x: event.clientX, y: event.clientY, from: now };
      const scale = this.longer / CLOSER / magnifier.clientWidth;
      this.put([held.from[0] - (event.clientX - held.x) * scale, held.from[1] - (event.clientY - held.y) * scale]);
    });
    stage.addEventListener('keydown', (event) => {
      const way = ARROWS[event.key];
      if (!way || this.at < 0) return;
      event.preventDefault();
      this.nudge(way, event.shiftKey ? 10 : 1);
    });
  }

  /** @param {HTMLElement} element @param {(event: PointerEvent, first: boolean) => void} moved */
  drag(element, moved) {
    const end = () => {
      if (!this.dragging) return;
      this.dragging = false;
      this.wanted.changed();
    };
    element.addEventListener('pointerdown', (event) => {
      if (this.at < 0) return;
      event.preventDefault();
      this.stage.focus({ preventScroll: true });
      element.setPointerCapture(event.pointerId);
      this.dragging = true;
      moved(event, true);
    });
    element.addEventListener('pointermove', (event) => { if (this.dragging && element.hasPointerCapture(event.pointerId)) moved(event, false); });
    element.addEventListener('pointerup', end);
    element.addEventListener('pointercancel', end);
  }

  /** @param {Px} point */
  put([x, y]) {
    const [width, height] = this.wanted.size;
    const at = Math.min(this.at, this.points.length);
    this.points[at] = [Math.min(Math.max(x, 0), width), Math.min(Math.max(y, 0), height)];
    this.draw();
  }

  /** @param {Px} way @param {number} steps */
  nudge([x, y], steps) {
    if (this.at < 0) return;
    const from = this.points[this.at] ?? /** @type {Px} */ ([this.wanted.size[0] / 2, this.wanted.size[1] / 2]);
    this.put([from[0] + x * steps * this.step, from[1] + y * steps * this.step]);
    this.wanted.changed();
  }

  /** Once the redraw that moves it is through: before that it has no size. */
  drawSoon() {
    queueMicrotask(() => this.draw());
  }

  /** Draws what lies over the photo, and the magnifier at the point. */
  draw() {
    const scale = this.stage.clientWidth / this.wanted.size[0];
    const place = (/** @type {Px} */ [x, y]) => /** @type {Px} */ ([x * scale, y * scale]);
    while (this.over.firstChild) this.over.firstChild.remove();
    this.over.append(...this.wanted.draw(place));
    const point = this.points[this.at];
    this.panel.hidden = this.at < 0;
    this.magnifier.classList.toggle('none', !point);
    if (!point) return;
    const [x, y] = place(point);
    this.over.append(...twice(lineTo([x - 14, y], [x - 4, y]) + lineTo([x + 4, y], [x + 14, y]) + lineTo([x, y - 14], [x, y - 4]) + lineTo([x, y + 4], [x, y + 14])));
    const side = this.magnifier.clientWidth || 152;
    const closer = (side * CLOSER) / this.longer;
    const [width, height] = this.wanted.size;
    this.magnifier.style.backgroundSize = `${width * closer}px ${height * closer}px`;
    this.magnifier.style.backgroundPosition = `${side / 2 - point[0] * closer}px ${side / 2 - point[1] * closer}px`;
  }
}

/** Points as they are kept: hundredths of a pixel. @param {Px[]} points */
export const hundredths = (points) => points.map(([x, y]) => /** @type {Px} */ ([Math.round(x * 100), Math.round(y * 100)]));
/** @param {Px[]} points */
export const pixels = (points) => points.map(([x, y]) => /** @type {Px} */ ([x / 100, y / 100]));
