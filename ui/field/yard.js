/** Yard: the units and jobs on this phone, newest first, with what each waits for. */
import { askFor, photoUrl } from '../parts/ask.js';
import { textField } from '../parts/fields.js';
import { languagePart } from '../parts/language.js';
import { make } from '../parts/make.js';
import { hello, onlyInspects, refresh, start } from '../parts/page.js';
import { day, say, when, wordOf } from '../parts/words.js';

/** @typedef {import('../parts/types/YardRow.ts').YardRow} YardRow */

/** Where a job goes on, by its stage. @type {Record<string, string>} */
const NEXT = { marked: 'ways', figured: 'figures', go_ahead: 'steps', in_the_bay: 'steps', proved: 'handover', handed_over: 'handover', sent_back: 'figures', on_hold: 'arrival' };

let find = '';

/** @param {YardRow} row */
function place(row) {
  const marking = row.stage === 'marked' && (row.marks === 0 || onlyInspects());
  if (row.stage === 'go_ahead' && row.opens_roof) return `roof_off.html?job=${row.job}`;
  const screen = marking ? (row.marks + row.photos === 0 ? 'arrival' : 'fold_out') : NEXT[row.stage] ?? 'arrival';
  return `${screen}.html?job=${row.job}`;
}

/** @param {YardRow} row */
function line(row) {
  const facts = row.later ? (row.slot ? say('yard.slot', { slot: row.slot }) : '') : [row.slot ? say('yard.slot', { slot: row.slot }) : '', say('yard.marks', { n: row.marks }), say('yard.photos', { n: row.photos }),
    row.roll ? wordOf('roll', row.roll.answer) : say('yard.no_roll'), row.promise ? say('yard.promised', { day: day(row.promise) }) : '', row.waiting > 0 ? say('yard.waiting', { n: row.waiting }) : ''].filter(Boolean).join(' · ');
  return make('li', null, make('a', { key: row.job, attrs: { href: place(row) } },
    row.photo ? make('img', { attrs: { src: photoUrl(row.photo, 'small'), alt: '', loading: 'lazy', width: 88, height: 66 } }) : null,
    make('span', { class: 'what' }, make('b', { text: row.unit }), make('br'), `${wordOf('stage', row.stage)}${row.waits_for ? ` · ${say('page.waits', { what: row.waits_for })}` : ''}`, make('br'),
      make('span', { class: 'quiet', text: row.last ? `${facts} · ${when(row.last)}` : facts }))));
}

start({
  title: 'yard.title',
  load: () => askFor('yard', { kind: 'yard', find }),
  draw: (view, body) => {
    const { stuck, salvage } = hello();
    if (salvage) body.append(make('p', { class: 'banner', text: salvage }));
    if (stuck > 0) body.append(make('a', { class: 'button', key: 'stuck', text: say('yard.stuck', { n: stuck }), attrs: { href: 'outbox.html' } }));
    const empty = view.rows.length === 0;
    if (!empty || find) body.append(textField({ key: 'find', label: say('yard.find'), value: find, type: 'search', hint: say('yard.find_hint'), quiet: true, save: async (text) => { find = text.trim(); await refresh(); } }));
    if (empty) body.append(make('p', { class: 'empty', text: say(find ? 'yard.none_found' : 'yard.empty') }));
    body.append(make('ul', { class: 'rows' }, view.rows.map(line)));
    // The rows that were not figured yet come with the next answer.
    if (view.rows.some((/** @type {YardRow} */ row) => row.later)) setTimeout(refresh, 0);
    if (view.more) body.append(make('p', { class: 'hint', text: say('yard.more') }));
    body.append(languagePart());
  },
  tray: () => [
    { label: hello().waiting > 0 ? say('yard.outbox_n', { n: hello().waiting }) : say('yard.outbox'), href: 'outbox.html', key: 'outbox' },
    { label: say('yard.add'), href: 'arrival.html', main: true },
  ],
});
