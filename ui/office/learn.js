/** What the shop learns from units that left: hours used against figured, task by task; a supervisor takes a proposal or leaves it. */
import { ask, askFor } from '../parts/ask.js';
import { make, makeSvg } from '../parts/make.js';
import { refresh, run, start } from '../parts/page.js';
import { say, when, words } from '../parts/words.js';

/** @typedef {import('../parts/ask.js').Of<'learned'>} Learned */
/** @typedef {import('../parts/types/LearnRow.ts').LearnRow} LearnRow */
/** @typedef {import('../parts/types/Material.ts').Material} Material */
/** @typedef {import('../parts/types/Taught.ts').Taught} Taught */

/** The range and its middle on a line from 0 to 2 or beyond, with a dashed 1: as figured. @param {LearnRow} row */
function line(row) {
  const [low, middle, high] = [row.low ?? row.median, row.median, row.high ?? row.median].map(Number);
  const most = Math.max(2, Number(high) * 1.1);
  const x = (/** @type {number | undefined} */ value) => String(10 + (Number(value) / most) * 380);
  const bar = (/** @type {string} */ look, /** @type {string} */ x1, /** @type {string} */ x2, y1 = '20', y2 = '20') => makeSvg('line', { class: look, attrs: { x1, x2, y1, y2 } });
  return makeSvg('svg', { class: 'spread-line', attrs: { viewBox: '0 0 400 40', 'aria-hidden': 'true', preserveAspectRatio: 'none' } },
    bar('base', '10', '390', '30', '30'), bar('span', x(low), x(high)), bar('one', x(1), x(1), '6', '34'), bar('at', x(middle), x(middle), '10', '30'));
}

/** @param {string} key @param {string[]} lines */
const evidence = (key, lines) => make('details', { key }, make('summary', { text: say('learn.evidence', { n: lines.length }) }), make('ul', { class: 'listed' }, ...lines.map((text) => make('li', { text }))));

/** @param {LearnRow} row */
function rowPart(row) {
  const learn = (/** @type {boolean} */ take) => () => run(() => ask({ kind: 'learn', task: row.task, now: row.proposed ?? '', take }));
  const range = row.low && row.high ? say('learn.range', { low: row.low, high: row.high, surely: row.surely ?? '' }) : '';
  return make('section', { class: row.proposed && !row.left ? 'stand' : 'card', key: row.task, attrs: { 'aria-label': row.name } }, make('h2', { class: 'lesser', text: row.name }),
    make('p', null, make('span', { class: 'ratio', text: `× ${row.median} ` }), say('learn.middle', { n: row.n, mad: row.mad })),
    range ? make('p', { class: 'quiet', text: range }) : null, line(row),
    make('p', { text: row.words }),
    row.proposed ? make('p', { class: 'verdict-words', text: say('learn.proposed', { was: row.was, now: row.proposed }) }) : make('p', { class: 'quiet', text: say('learn.stands', { was: row.was }) }),
    evidence('evidence/' + row.task, row.evidence),
    row.left ? make('p', { class: 'quiet', text: say('learn.was_left') }) : null,
    row.proposed ? make('div', { class: 'buttons' },
      row.left ? null : make('button', { key: row.task + '/leave', text: say('learn.leave'), attrs: { type: 'button' }, on: { click: learn(false) } }),
      make('button', { class: 'main', key: row.task + '/take', text: say('learn.take', { now: row.proposed }), attrs: { type: 'button' }, on: { click: learn(true) } })) : null);
}

/** @param {Material} row */
const materialPart = (row) => make('section', { class: 'card', key: 'material/' + row.item }, make('h2', { class: 'lesser', text: row.item }),
  make('p', null, make('span', { class: 'ratio', text: `× ${row.median} ` }), say('learn.middle', { n: row.n, mad: row.mad })), make('p', { text: row.words }), evidence('material-evidence/' + row.item, row.evidence));

/** @param {Taught} old */
const beforePart = (old) => make('li', { text: say(old.taken ? 'learn.taken' : 'learn.left', { name: old.name, was: old.was, now: old.now, who: old.by, when: when(old.at), n: old.n }) });

/** @param {Learned} view @param {HTMLElement} body */
function draw(view, body) {
  const parts = [
    make('p', { text: say('learn.intro', { n: view.jobs }) }),
    view.not_figured ? make('p', { class: 'quiet', attrs: { role: 'status' }, text: say('office.not_figured', { n: view.not_figured }) }) : null,
    view.rows.length || view.not_figured ? null : make('p', { class: 'empty', text: say('learn.empty') }),
    ...view.rows.map(rowPart),
    view.material.length ? make('h2', { text: say('learn.material') }) : null, ...view.material.map(materialPart),
    view.before.length ? make('details', { key: 'before' }, make('summary', { text: say('learn.before') }), make('ul', { class: 'listed' }, ...view.before.map(beforePart))) : null,
    make('details', { key: 'how' }, make('summary', { text: say('learn.how') }), make('p', { text: view.how })),
  ];
  for (const part of parts) if (part) body.append(part);
  if (view.not_figured) setTimeout(refresh, 50);
}

await words();
start({ title: say('screen.learn'), load: () => askFor('learned', { kind: 'learned' }), draw, tray: () => [{ label: say('office.title'), href: 'list.html', main: true }] });
