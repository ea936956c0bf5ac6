/** Cut list: what to cut from which stock or drop, with running stations from one hook of the tape; what is short comes first. */
import { askFor } from '../parts/ask.js';
import { make } from '../parts/make.js';
import { hello, job, start } from '../parts/page.js';
import { tape } from '../parts/tape.js';
import { say, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/Cut.ts').Cut} Cut */
/** @typedef {import('../parts/types/Left.ts').Left} Left */
/** @typedef {import('../parts/ask.js').Of<'cut_list'>} CutList */

/** @param {number} nanometres */
const read = (nanometres) => tape(nanometres, hello().unit);

/** @param {Left} left */
function leftWords(left) {
  const size = left.width === null ? read(left.length) : say('cut_list.by', { length: read(left.length), width: read(left.width) });
  return say(left.keep ? 'cut_list.keep' : 'cut_list.scrap', { size });
}

/** Cuts that are alike stand once, with their number. @param {Cut[]} cuts */
function alike(cuts) {
  /** @type {Map<string, {cut: Cut, n: number}>} */
  const groups = new Map();
  for (const cut of cuts) {
    const key = JSON.stringify(cut);
    const group = groups.get(key);
    if (group) group.n += 1;
    else groups.set(key, { cut, n: 1 });
  }
  return [...groups.values()];
}

/** @param {{cut: Cut, n: number}} group */
const cutPart = ({ cut, n }) => make('section', { class: 'cut', attrs: { 'aria-label': cut.item } },
  make('h2', { text: cut.count * n > 1 ? say('cut_list.times', { item: cut.item, count: cut.count * n }) : cut.item }),
  n > 1 ? make('p', { text: say('cut_list.alike', { n }) }) : null,
  make('p', { class: 'number', text: cut.size }),
  make('p', { text: [say('cut_list.from', { stock: cut.from }), cut.place ? say('cut_list.at', { place: cut.place }) : '', cut.turned ? say('cut_list.turned') : ''].filter(Boolean).join(' · ') }),
  cut.rip_to === null ? null : make('p', { text: say('cut_list.rip', { width: read(cut.rip_to) }) }),
  cut.running.length ? make('p', { class: 'quiet', text: say('cut_list.running') }) : null,
  cut.running.length ? make('ol', { class: 'stations' }, ...cut.running.map((station) => make('li', { text: read(station) }))) : null,
  ...cut.left.map((left) => make('p', { class: 'quiet', text: leftWords(left) })));

/** @param {CutList} view @param {HTMLElement} body */
function draw(view, body) {
  const list = view.list;
  if (!list) {
    body.append(make('p', { class: 'empty', text: view.why_not ?? say('cut_list.empty') }), make('a', { class: 'button', attrs: { href: link('ways.html', { job: job() }) } }, say('ways.title')));
    return;
  }
  if (list.short.length) {
    body.append(make('section', { class: 'notice', attrs: { 'aria-label': say('cut_list.short') } }, make('h2', { class: 'lesser', text: say('cut_list.short') }),
      ...list.short.map((one) => make('div', { class: 'book-row' }, make('span', { text: one.item }), make('b', { text: one.size }), make('span', { class: 'quiet', text: say('cut_list.missing', { n: one.count }) })))));
  }
  body.append(make('p', { text: say('cut_list.lead') }), ...alike(list.cuts).map(cutPart));
}

/** @param {CutList} _view */
const tray = (_view) => [
  { label: say('figures.title'), href: link('figures.html', { job: job() }) },
  { label: say('roof_off.title'), main: true, href: link('roof_off.html', { job: job() }) },
];

await words();
start({ title: 'cut_list.title', load: (/** @type {string} */ id) => askFor('cut_list', { kind: 'cut_list', job: id }), draw, tray });
