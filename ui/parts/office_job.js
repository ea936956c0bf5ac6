/** The side of the office's job page: what it waits for, who is on it, papers, sublet work, release, earlier jobs. */
import { ask } from './ask.js';
import { choice, dateField, textField } from './fields.js';
import { make } from './make.js';
import { hello, run } from './page.js';
import { day, money, say } from './words.js';
import { link } from './work.js';

/** @typedef {import('./ask.js').Of<'office_job'>} OfficeJob */
/** @typedef {import('./types/OfficeField.ts').OfficeField} OfficeField */
/** @typedef {import('./types/SubletRow.ts').SubletRow} SubletRow */
/** @typedef {import('./types/HistoryRow.ts').HistoryRow} HistoryRow */

/** What is typed for work that is not given out yet, and for opening again. */
const typed = { work: '', who: '', out: '', back: '', reason: '', note: '' };

/** @param {string} title @param {...(HTMLElement | null)} parts */
const section = (title, ...parts) => make('section', { attrs: { 'aria-label': title } }, make('h2', { class: 'lesser', text: title }), ...parts);

/** @param {string} key @param {string} label @param {keyof typeof typed} name */
function box(key, label, name) {
  const input = make('input', { key, attrs: { id: key, value: typed[name], autocomplete: 'off' }, on: { input: () => { typed[name] = input.value; } } });
  return make('div', { class: 'plain-field' }, make('label', { text: label, attrs: { for: key } }), input);
}

/** A day that is typed with them. @param {string} key @param {string} label @param {'out' | 'back'} name */
const dayBox = (key, label, name) => dateField({ key, label, value: typed[name], quiet: true, save: async (text) => { typed[name] = text; } });

/** @param {string} label @param {() => unknown} act @param {string} [look] */
const act = (label, act, look = 'button') => make('button', { class: look, key: 'act/' + label, attrs: { type: 'button' }, text: label, on: { click: () => run(act) } });

/** @param {OfficeJob} view */
export function waitsPart(view) {
  const on = view.on_it;
  const people = hello().people.map((person) => make('label', { class: 'tick', key: 'on/' + person.id },
    make('input', { key: `on/${person.id}/box`, attrs: { type: 'checkbox', checked: on.includes(person.id) }, on: { change: (/** @type {Event} */ event) => run(() => ask({ kind: 'set_on_job', job: view.head.job, person: person.id, on: /** @type {HTMLInputElement} */ (event.target).checked })) } }),
    make('span', { text: person.name })));
  const names = hello().people.filter((person) => on.includes(person.id)).map((person) => person.name).join(', ');
  return section(say('office.waits_title'),
    view.waits.length ? make('p', { class: 'waits-list' }, ...view.waits.map((one) => make('span', { class: one.for, text: `${say('wait.' + one.for)}: ${one.words}${one.day ? `, ${day(one.day)}` : ''}` }))) : make('p', { class: 'quiet', text: say('office.waits_nothing') }),
    make('details', { key: 'on-it' }, make('summary', null, make('span', { text: say('office.on_it_title') }), make('b', { text: names || say('office.nobody') })), make('div', { class: 'who' }, ...people)));
}

/** @param {OfficeJob} view */
export function papersPart(view) {
  const of = (/** @type {OfficeField} */ name) => view.fields.find((one) => one.field === name);
  const save = (/** @type {OfficeField} */ field) => (/** @type {string} */ value) => ask({ kind: 'set_office', job: view.head.job, field, value });
  const text = (/** @type {OfficeField} */ name) => textField({ key: 'office/' + name, label: say('office.' + name), value: of(name)?.value ?? '', by: of(name)?.by ?? null, save: save(name) });
  const pick = (/** @type {OfficeField} */ name, /** @type {string[]} */ values) => choice({ key: 'office/' + name, label: say('office.' + name), hint: say(`office.${name}_hint`), value: of(name)?.value ?? '', by: of(name)?.by ?? null, save: save(name),
    options: values.map((value) => ({ value, label: say(`office.${name}_${value || 'open'}`) })) });
  const paper = (/** @type {'payer' | 'order'} */ field) => textField({ key: 'arrival/' + field, label: say('arrival.' + field), value: view.arrival.fields.find((one) => one.field === field)?.value ?? '', by: view.arrival.fields.find((one) => one.field === field)?.by ?? null,
    save: (value) => ask({ kind: 'set_arrival', job: view.head.job, field, value }) });
  const left = view.handed_over !== null;
  const names = [left ? '' : view.arrival.fields.find((one) => one.field === 'payer')?.value, of('payer_order')?.value, of('insurer')?.value].filter(Boolean).join(' · ');
  return section(say('office.papers'),
    make('details', { key: 'numbers' }, make('summary', null, make('span', { text: say('office.numbers') }), make('b', { text: names })),
      left ? null : paper('payer'), left ? null : paper('order'), text('payer_order'), text('insurer'), pick('warranty', ['', 'paid', 'warranty'])),
    make('p', { class: 'quiet', text: view.warranty }),
    make('details', { key: 'report' }, make('summary', null, make('span', { text: say('office.report_closed') }), make('b', { text: say('office.report_closed_' + (of('report_closed')?.value || 'open')) })), pick('report_closed', ['', 'repaired', 'not_needed'])),
    make('p', { class: 'quiet', text: view.keep_until }),
    view.keep_over ? pick('retain', ['', 'keep', 'let_go']) : null);
}

/** @param {OfficeJob} view @param {SubletRow} row */
function subletRow(view, row) {
  const set = (/** @type {Partial<{work: string, who: string, out_on: string, back_on: string, back: boolean}>} */ change) => ask({ kind: 'set_sublet', job: view.head.job, sublet: row.id,
    work: row.sublet.work, who: row.sublet.who, out_on: row.sublet.out_on ?? '', back_on: row.sublet.back_on ?? '', back: row.sublet.back, ...change });
  const dates = [row.sublet.out_on ? say('office.out_day', { day: day(row.sublet.out_on) }) : '', row.sublet.back_on ? say('office.back_day', { day: day(row.sublet.back_on) }) : ''].filter(Boolean).join(', ');
  return make('div', { class: row.late ? 'card over' : 'card', key: 'sublet/' + row.id },
    make('p', null, make('b', { text: row.sublet.work }), ` · ${row.sublet.who}`), make('p', { class: row.late ? 'late-words' : 'quiet', text: [dates, row.sublet.back ? say('office.is_back') : row.late ? say('office.back_late') : ''].filter(Boolean).join(' · ') }),
    make('div', { class: 'buttons' },
      make('button', { key: `sublet/${row.id}/off`, text: say('office.sublet_off'), attrs: { type: 'button' }, on: { click: () => run(() => set({ work: '' })) } }),
      make('button', { key: `sublet/${row.id}/back`, text: say(row.sublet.back ? 'office.not_back' : 'office.came_back'), attrs: { type: 'button' }, on: { click: () => run(() => set({ back: !row.sublet.back })) } })));
}

/** @param {OfficeJob} view */
export function subletPart(view) {
  const add = async () => {
    await ask({ kind: 'set_sublet', job: view.head.job, sublet: null, work: typed.work, who: typed.who, out_on: typed.out, back_on: typed.back, back: false });
    Object.assign(typed, { work: '', who: '', out: '', back: '' });
  };
  return section(say('office.sublet'), ...view.sublets.map((row) => subletRow(view, row)),
    view.handed_over ? null : make('details', { key: 'sublet-new' }, make('summary', { text: say('office.sublet_new') }),
      box('sublet-work', say('office.sublet_work'), 'work'), box('sublet-who', say('office.sublet_who'), 'who'),
      make('div', { class: 'three days' }, dayBox('sublet-out', say('office.sublet_out'), 'out'), dayBox('sublet-back', say('office.sublet_back'), 'back')), act(say('office.sublet_add'), add)));
}

/** What lacks, the release by somebody who may, the handover, and opening again. @param {OfficeJob} view */
export function releasePart(view) {
  const id = view.head.job;
  const again = make('details', { key: 'reopen' }, make('summary', { text: say('office.reopen') }), make('p', { class: 'hint', text: say('office.reopen_words') }), box('reopen-reason', say('office.reopen_reason'), 'reason'),
    act(say('office.reopen'), async () => { await ask({ kind: 'reopen', job: id, reason: typed.reason }); typed.reason = ''; }));
  const before = view.reopened.map((text) => make('p', { class: 'quiet', text }));
  if (view.released) {
    return section(say('office.release'), make('p', { class: 'verdict-words', text: view.released }), view.handed_over ? make('p', { text: view.handed_over }) : act(say('handover.hand_over'), () => ask({ kind: 'set_handed_over', job: id }), 'button main'), ...before, again);
  }
  const lacks = make('details', { key: 'lacks' }, make('summary', { text: say('office.lacks', { n: view.lacks.length }) }), make('ul', { class: 'listed' }, ...view.lacks.map((text) => make('li', { text }))));
  return section(say('office.release'), ...before,
    view.may_not_release ? make('p', { class: 'notice', text: view.may_not_release }) : null,
    view.lacks.length ? lacks : null,
    view.lacks.length || view.may_not_release ? null : box('release-note', say('office.release_note'), 'note'),
    view.lacks.length || view.may_not_release ? null : act(say('office.release_now'), async () => { await ask({ kind: 'release', job: id, note: typed.note }); typed.note = ''; }, 'button main'),
    make('p', { class: 'quiet', text: say('handover.who_decides') }));
}

/** @param {OfficeJob} view @param {HistoryRow} one */
const historyRow = (view, one) => make('div', { class: 'card', key: 'history/' + one.row.job },
  make('p', null, make('a', { attrs: { href: link('job.html', { job: one.row.job }) } }, one.left_on ? say('office.left_day', { day: day(one.left_on) }) : say('stage.' + one.row.stage)), one.row.total ? ` · ${money(one.row.total)}` : ''),
  ...one.done.map((text) => make('p', { text })),
  one.in_warranty ? make('p', { class: 'state', text: say('office.in_warranty') }) : null,
  one.comeback || one.left_on ? make('button', { key: `history/${one.row.job}/comeback`, attrs: { type: 'button', 'aria-pressed': String(one.comeback) }, text: say('office.is_comeback'),
    on: { click: () => run(() => ask({ kind: 'set_office', job: view.head.job, field: 'comeback_of', value: one.comeback ? '' : one.row.job })) } }) : null);

/** @param {OfficeJob} view */
export const historyPart = (view) => (view.history.length ? section(say('office.history'), ...view.history.map((one) => historyRow(view, one))) : null);
