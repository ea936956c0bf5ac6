/**
 * The office's jobs as a list or as a bay board by day: what waits for an answer first, units that stand open before
 * others and who waits longest before who came later; then what is promised first, and apart at the end what is on hold.
 * Each says what it waits for and who is on it.
 */
import { askFor, photoUrl } from '../parts/ask.js';
import { textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { param, redraw, refresh, run, start } from '../parts/page.js';
import { day, money, say, when, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/YardRow.ts').YardRow} YardRow */
/** @typedef {import('../parts/types/OfficeShow.ts').OfficeShow} OfficeShow */
/** @typedef {import('../parts/ask.js').Of<'office_jobs'>} Jobs */

const PAGE = 60;
const here = { find: '', show: /** @type {OfficeShow} */ (param('show') === 'left' ? 'left' : 'open'), board: param('as') === 'board', most: PAGE };

/** @param {YardRow} row */
function waitsPart(row) {
  // That it asks for a go-ahead is said above; what was found more is told.
  const waits = row.waits.filter((one) => one.for !== 'office' || row.asks_found);
  return waits.length ? make('span', { class: 'waits-list' }, ...waits.map((one) => make('span', { class: one.for, text: `${say('wait.' + one.for)}: ${one.words}${one.day ? `, ${day(one.day)}` : ''}` }))) : null;
}

/** @param {YardRow} row @param {string} today */
function rowPart(row, today) {
  const late = row.promise !== null && row.promise < today && row.stage !== 'handed_over';
  const counts = [say('office.marks', { n: row.marks }), say('office.photos', { n: row.photos }), row.last ? when(row.last) : ''].filter(Boolean).join(' · ');
  return make('a', { class: row.asks ? 'row job-row asks' : 'row job-row', key: 'job/' + row.job, attrs: { href: link('job.html', { job: row.job }) } },
    here.board ? null : row.photo ? make('img', { attrs: { src: photoUrl(row.photo, 'small'), alt: '', loading: 'lazy' } }) : make('span', { class: 'no-photo' }),
    make('span', { class: 'job-words' },
      make('span', null, make('b', { class: 'unit', text: row.unit }), make('span', { class: 'quiet', text: row.slot ? say('office.slot', { slot: row.slot }) : '' })),
      make('span', null,
        row.asks ? make('b', { class: 'asks-words', text: [say(row.asks_found ? 'office.asks_found' : row.roof_open ? 'office.asks_open' : 'office.asks'), row.asked_since ? say('office.asked_since', { when: when(row.asked_since) }) : ''].filter(Boolean).join(', ') }) : null,
        make('span', null, make('b', { text: say('stage.' + row.stage) }), row.waits_for && !row.waits.length ? ` · ${row.waits_for}` : ''),
        waitsPart(row)),
      make('span', null,
        row.promise ? make('span', { class: late ? 'late-words' : '', text: say(late ? 'office.late' : 'yard.promised', { day: day(row.promise) }) }) : null,
        row.on_it.length ? make('span', { text: say('office.on_it', { who: row.on_it.join(', ') }) }) : null,
        make('span', { class: 'quiet', text: counts })),
      row.total ? make('b', { class: 'money', text: money(row.total) }) : null,
      row.total && row.unpriced ? make('span', { class: 'quiet', text: say('office.unpriced') }) : null));
}

/** @param {string} title @param {YardRow[]} rows @param {string} today */
const group = (title, rows, today) => (rows.length ? make('section', { attrs: { 'aria-label': title } },
  make('h2', { class: 'day-head' }, make('span', { text: title }), make('span', { class: 'quiet', text: String(rows.length) })), ...rows.map((row) => rowPart(row, today))) : null);

/** The day so many days on, as text. @param {string} today @param {number} days */
function on(today, days) {
  const at = new Date(today + 'T12:00:00Z');
  at.setUTCDate(at.getUTCDate() + days);
  return at.toISOString().slice(0, 10);
}

/** Columns by day. @param {Jobs} view */
function boardPart(view) {
  const week = on(view.today, 7);
  /** @type {[string, (row: YardRow) => boolean][]} */
  const columns = [
    ['office.answer_first', (row) => row.asks],
    ['office.held', isHeld],
    ['office.is_late', (row) => row.promise !== null && row.promise < view.today],
    ['office.today', (row) => row.promise === view.today],
    ['office.week', (row) => row.promise !== null && row.promise < week],
    ['office.after', (row) => row.promise !== null],
    ['office.no_day', () => true],
  ];
  let rest = view.rows;
  const parts = columns.map(([title, fits]) => {
    const mine = rest.filter(fits);
    rest = rest.filter((row) => !fits(row));
    return group(say(title), mine, view.today);
  });
  // Taken out before the days, it stands behind them.
  const [answers, held, ...days] = parts;
  return make('div', { class: 'board' }, answers ?? null, ...days, held ?? null);
}

/** What somebody put on hold, where no answer of the office is asked. @param {YardRow} row */
const isHeld = (row) => row.stage === 'on_hold' && !row.asks;

/** @param {Jobs} view */
function listPart(view) {
  const open = (/** @type {YardRow} */ row) => row.asks && (row.asks_found || row.roof_open);
  const found = view.rows.filter(open);
  const asks = view.rows.filter((row) => row.asks && !open(row));
  const rest = view.rows.filter((row) => !row.asks && !isHeld(row));
  const restTitle = say(here.show === 'left' ? 'office.left_rows' : 'office.rest');
  return make('div', { class: 'rows-list' }, group(say('office.found_first'), found, view.today), group(say('office.waiting'), asks, view.today), group(restTitle, rest, view.today), group(say('office.held'), view.rows.filter(isHeld), view.today));
}

/** @param {string} label @param {boolean} pressed @param {() => unknown} act */
const switchTo = (label, pressed, act) => make('button', { key: label, text: label, attrs: { type: 'button', 'aria-pressed': String(pressed) }, on: { click: act } });

/** @param {Jobs} view */
function filters(view) {
  const show = (/** @type {OfficeShow} */ which) => () => run(() => { Object.assign(here, { show: which, find: '', most: PAGE }); });
  return make('div', { class: 'filters' },
    textField({ key: 'find', label: say('office.find'), type: 'search', value: here.find, quiet: true, save: async (text) => { here.find = text.trim(); await refresh(); } }),
    make('div', { class: 'pair-of' }, switchTo(say('office.as_list'), !here.board, () => { here.board = false; redraw(); }), switchTo(say('office.as_board'), here.board, () => { here.board = true; redraw(); })),
    make('div', { class: 'pair-of' }, switchTo(say('office.show_open', { n: Number(view.open) }), here.show === 'open', show('open')), switchTo(say('office.show_left', { n: Number(view.left) }), here.show === 'left', show('left'))));
}

/** @param {Jobs} view @param {HTMLElement} body */
function draw(view, body) {
  const parts = [
    Number(view.apart) ? make('a', { class: 'row notice', key: 'apart', attrs: { href: 'phones.html' } }, say('office.apart', { n: Number(view.apart) })) : null,
    filters(view),
    view.rows.length ? null : make('p', { text: say(here.find ? 'office.none_found' : 'office.empty') }),
    here.board && here.show === 'open' ? boardPart(view) : listPart(view),
    view.not_figured ? make('p', { class: 'quiet', attrs: { role: 'status' }, text: say('office.not_figured', { n: view.not_figured }) }) : null,
    view.more ? make('button', { key: 'more', text: say('office.show_more'), attrs: { type: 'button' }, on: { click: () => run(() => { here.most += PAGE; }) } }) : null,
  ];
  for (const part of parts) if (part) body.append(part);
  // The office works rows and days out beside its answers; they come with the next ones.
  if (view.not_figured || view.rows.some((row) => row.later)) setTimeout(refresh, 1000);
}

await words();
start({ title: say('office.title'), load: () => askFor('office_jobs', { kind: 'office_jobs', find: here.find, show: here.show, most: here.most }), draw,
  tray: () => [{ label: say('screen.people'), href: 'people.html' }, { label: say('screen.phones'), href: 'phones.html' }, { label: say('screen.learn'), href: 'learn.html' }, { label: say('screen.shop_book'), href: 'shop_book.html' }] });
