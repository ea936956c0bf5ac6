/**
 * The printed target: a sheet to print at full size, with a length to check by tape. The program finds it in photos by
 * its black frame, 6 in outside, and the four fields in its middle; the shares are those of `core/photos/src/target.rs`.
 */
import { make, makeSvg } from '../parts/make.js';
import { start } from '../parts/page.js';
import { onPhone } from '../parts/phone.js';
import { say, words } from '../parts/words.js';

/** Side of the frame, in; the share of it that is black; where its middle begins and ends. */
const [SIDE, FRAME, BEGIN, END] = [6, 0.15, 0.32, 0.68];

/** @param {number} x @param {number} y @param {number} side @param {string} fill */
const square = (x, y, side, fill) => makeSvg('rect', { attrs: { x, y, width: side, height: side, fill } });

/** The frame, its middle, and the control length below, in inches. */
function drawing() {
  const half = ((END - BEGIN) / 2) * SIDE;
  const middle = SIDE / 2;
  const line = (/** @type {number[]} */ ...at) => makeSvg('path', { attrs: { d: `M${at[0]} ${at[1]}L${at[2]} ${at[3]}`, stroke: '#000', 'stroke-width': 0.012 } });
  return makeSvg('svg', { attrs: { viewBox: '-0.25 -0.25 6.5 7.6', role: 'img', 'aria-label': say('target.drawing'), 'font-size': 0.2 } },
    square(0, 0, SIDE, '#000'), square(FRAME * SIDE, FRAME * SIDE, (1 - 2 * FRAME) * SIDE, '#fff'),
    square(middle - half, middle - half, half, '#000'), square(middle, middle, half, '#000'),
    line(0, 6.75, SIDE, 6.75), line(0, 6.6, 0, 6.9), line(SIDE, 6.6, SIDE, 6.9),
    makeSvg('text', { text: say('target.control'), attrs: { x: middle, y: 7.1, 'text-anchor': 'middle', fill: '#000', stroke: 'none' } }));
}

await words();
start({
  title: say('target.title'),
  load: async () => ({}),
  draw: (_, body) => body.append(make('p', { text: say('target.how') }), ...(onPhone() ? [make('p', { text: say('target.at_a_desk') })] : []),
    make('div', { class: 'show' }, make('div', { class: 'sheet' }, drawing(), make('p', { text: say('target.tape') })))),
  tray: () => [{ label: say('target.back'), act: () => history.back() }, // A web view cannot print.
    ...(onPhone() ? [] : [{ label: say('target.print'), main: true, act: () => print() }])],
});
