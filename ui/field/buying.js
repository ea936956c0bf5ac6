/** Buying list: what the shelf does not give, the days it is needed by and arrives on, and when the unit is promised. */
import { ask, askFor } from '../parts/ask.js';
import { dateField, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, redraw, run, start, tell } from '../parts/page.js';
import { day, say, words } from '../parts/words.js';
import { keepPlace, there } from '../parts/place.js';
import { begin, download, link, workingOf } from '../parts/work.js';

/** @typedef {import('../parts/types/BuyRow.ts').BuyRow} BuyRow */
/** @typedef {import('../parts/types/BuyField.ts').BuyField} BuyField */
/** @typedef {import('../parts/ask.js').Of<'buying_list'>} BuyingList */

/** What is typed for a new line, until its item is there. */
const fresh = { item: '', size: '', quantity: '' };

/** The order in which the lines were first seen here: a line that gets its day stays where it is. @type {string[]} */
const seen = [];

/** @param {BuyRow[]} rows */
function inOrder(rows) {
  for (const { line } of rows) if (!seen.includes(line)) seen.push(line);
  return [...rows].sort((a, b) => seen.indexOf(a.line) - seen.indexOf(b.line));
}

/** @param {BuyRow} row */
function state(row) {
  if (!row.wanted) return say('buying.not_wanted');
  if (row.here !== null) return say('buying.here', { place: row.here });
  return row.arrives_on ? say('buying.arrives', { day: day(row.arrives_on) }) : say('buying.no_day');
}

/** @param {BuyRow} row */
function part(row) {
  const set = (/** @type {BuyField} */ field, /** @type {string} */ value) => ask({ kind: 'set_buying', job: job(), line: row.line, field, value });
  const key = 'buy/' + row.line;
  const field = (/** @type {BuyField} */ name, /** @type {string | null} */ value) => (name === 'here' ? textField : dateField)({ key: `${key}/${name}`, label: say(name === 'here' ? 'buying.here_field' : 'buying.' + name), value: value ?? '', hint: name === 'here' ? say('buying.here_hint') : '', save: async (text) => { await set(name, text); if (name === 'here') keepPlace(text); } });
  const off = row.own || !row.wanted;
  return make('details', { class: row.here === null && row.wanted ? 'check-row' : 'check-row ok', key, attrs: { open: row.wanted && row.here === null && !row.arrives_on } },
    make('summary', null, make('span', { text: `${row.quantity} × ${row.item}` }), make('span', { class: 'state', text: state(row) })),
    row.size ? make('p', { class: 'number', text: row.size }) : null,
    row.wanted ? make('div', { key: key + '/days' }, field('needed_by', row.needed_by), field('arrives_on', row.arrives_on)) : null,
    row.wanted ? field('here', row.here) : null,
    row.wanted && row.here === null ? there(key, row.item, (place) => set('here', place)) : null,
    off ? make('button', { class: 'button', key: key + '/off', attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'remove_buying', job: job(), line: row.line })) } }, say('buying.off')) : null);
}

/** A line of one's own: it goes in when its item is typed and the button tapped. */
function adding() {
  const field = (/** @type {'item' | 'size' | 'quantity'} */ name) => textField({ key: 'add/' + name, label: say('buying.add_' + name), value: fresh[name], hint: say(`buying.add_${name}_hint`), quiet: true, save: async (text) => { fresh[name] = text; redraw(); } });
  const add = async () => {
    await ask({ kind: 'add_buying', job: job(), ...fresh });
    Object.assign(fresh, { item: '', size: '', quantity: '' });
  };
  return make('details', { key: 'add', attrs: { open: false } }, make('summary', { text: say('buying.add') }), field('item'), field('size'), field('quantity'),
    make('button', { class: 'button', key: 'add/go', attrs: { type: 'button' }, on: { click: () => run(add) } }, say('buying.add_go')));
}

/** @param {string} csv */
async function copy(csv) {
  try {
    await navigator.clipboard.writeText(csv);
    tell(say('buying.copied'));
  } catch {
    await download(csv, 'text/csv', 'buying_list.csv');
  }
}

/** @param {BuyingList} view @param {HTMLElement} body */
function draw(view, body) {
  const waits = view.rows.filter((row) => row.wanted && row.here === null && !row.arrives_on);
  body.append(make('section', { class: view.promise.day ? 'stand' : 'stand shut', attrs: { 'aria-label': say('buying.promise') } },
    make('p', { class: 'verdict-words', text: view.promise.day ? say('buying.promised', { day: day(view.promise.day) }) : view.promise.words }),
    view.promise.day && view.promise.waits ? make('p', { text: say('buying.after', { who: view.promise.waits }) }) : null,
    waits.length && view.promise.day ? make('p', { class: 'doubt', text: say('buying.open', { n: waits.length }) }) : null,
    view.promise.basis.length ? workingOf(say('figures.working'), view.promise.basis, 'promise') : null));
  if (view.why_not) body.append(make('p', { text: view.why_not }));
  body.append(...inOrder(view.rows).map(part), adding());
  if (!view.rows.some((row) => row.wanted && row.here === null)) return;
  body.append(make('details', { key: 'csv' }, make('summary', { text: say('buying.csv') }), make('pre', { class: 'csv', text: view.csv }),
    make('button', { class: 'button', key: 'copy', attrs: { type: 'button' }, on: { click: () => copy(view.csv) } }, say('buying.copy'))));
}

/** @param {BuyingList} view */
const tray = (view) => [
  { label: say('cut_list.title'), href: link('cut_list.html', { job: job() }) },
  { ...begin(view.head), main: true },
];

await words();
start({ title: 'buying.title', load: (/** @type {string} */ id) => askFor('buying_list', { kind: 'buying_list', job: id }), draw, tray });
