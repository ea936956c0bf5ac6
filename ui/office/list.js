/** The office's jobs: found more first, then what waits for an answer, then the rest, newest first. */
import { ask, askFor, photoUrl } from '../parts/ask.js';
import { cardPart } from './card.js';
import { make } from '../parts/make.js';
import { refresh, start } from '../parts/page.js';
import { day, money, say, when, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/YardRow.ts').YardRow} YardRow */
/** @typedef {import('../parts/ask.js').Of<'office_jobs'>} Jobs */

let find = '';
/** @type {import('../parts/ask.js').Of<'new_code'> | null} */
let code = null;

/** @param {YardRow} row */
function rowPart(row) {
  const facts = [say('stage.' + row.stage), row.waits_for ? say('page.waits', { what: row.waits_for }) : '', row.promise ? say('yard.promised', { day: day(row.promise) }) : '', row.last ? when(row.last) : ''].filter(Boolean).join(' · ');
  const counts = [say('office.marks', { n: row.marks }), say('office.photos', { n: row.photos }), row.slot ? say('office.slot', { slot: row.slot }) : ''].filter(Boolean).join(' · ');
  return make('a', { class: row.asks ? 'row job-row asks' : 'row job-row', attrs: { href: link('job.html', { job: row.job }) } },
    row.photo ? make('img', { attrs: { src: photoUrl(row.photo, 'small'), alt: '', loading: 'lazy' } }) : make('span', { class: 'no-photo' }),
    make('span', { class: 'job-words' },
      make('b', { class: 'unit', text: row.unit }),
      row.asks ? make('b', { class: 'asks-words', text: say(row.asks_found ? 'office.asks_found' : 'office.asks') }) : null,
      make('span', { text: facts }), make('span', { class: 'quiet', text: counts }),
      row.total ? make('b', { class: 'money', text: money(row.total) }) : null));
}

/** @param {string} title @param {YardRow[]} rows */
const group = (title, rows) => (rows.length ? make('section', { attrs: { 'aria-label': title } }, make('h2', { text: title }), ...rows.map(rowPart)) : null);

function codePart() {
  if (!code) return null;
  return make('section', { class: 'stand', attrs: { role: 'status' } }, make('h2', { text: say('office.code') }), make('p', { class: 'code', text: code.code }),
    make('p', { text: say('office.code_until', { when: when(code.until) }) }));
}

/** @param {Jobs} view @param {HTMLElement} body */
function draw(view, body) {
  const search = make('input', { key: 'find', attrs: { id: 'find', type: 'search', value: find, autocomplete: 'off' },
    on: { change: () => { find = search.value; refresh(); } } });
  const found = view.rows.filter((row) => row.asks_found);
  const asks = view.rows.filter((row) => row.asks && !row.asks_found);
  const rest = view.rows.filter((row) => !row.asks && !row.asks_found);
  const parts = [
    codePart(),
    make('div', { class: 'plain-field', attrs: { role: 'search' } }, make('label', { text: say('office.find'), attrs: { for: 'find' } }), search),
    view.rows.length ? null : make('p', { text: say(find ? 'office.none_found' : 'office.empty') }),
    group(say('office.found_first'), found), group(say('office.waiting'), asks), group(say('office.rest'), rest),
    view.more ? make('p', { class: 'quiet', text: say('office.more') }) : null,
    cardPart(),
  ];
  for (const part of parts) if (part) body.append(part);
  // The rows that were not figured yet come with the next answer.
  if (view.rows.some((row) => row.later)) setTimeout(refresh, 0);
}

async function newCode() {
  code = await askFor('new_code', { kind: 'new_code' });
  scrollTo(0, 0);
}

async function signOut() {
  await ask({ kind: 'sign_out' });
  location.replace('signin.html');
}

await words();
start({ title: say('office.title'), load: () => askFor('office_jobs', { kind: 'office_jobs', find }), draw,
  tray: () => [{ label: say('office.sign_out'), act: signOut }, { label: say('office.new_code'), main: true, act: newCode }] });
