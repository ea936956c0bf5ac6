/**
 * Roof-off check: nothing is opened until everything is on hand, with its place, and people, dry hours and a
 * cover for the night are there. Go or no-go stands in words at the head, with what is missing.
 */
import { ask, askFor } from '../parts/ask.js';
import { choice, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, run, start } from '../parts/page.js';
import { say, when, words } from '../parts/words.js';
import { holdPart, lacksList, link } from '../parts/work.js';

/** @typedef {import('../parts/types/RoofOffRow.ts').RoofOffRow} RoofOffRow */
/** @typedef {import('../parts/ask.js').Of<'roof_off'>} RoofOff */

/** Rows about material carry their shelf place; the others are conditions of the day. @param {RoofOffRow} row */
const isMaterial = (row) => row.key.startsWith('on_hand');

/** A thing on hand or not with its place, or a condition with a remark. @param {RoofOffRow} row @param {string} near where the thing before it lies */
function thing(row, near) {
  const material = isMaterial(row);
  /** @param {boolean} have @param {string} place */
  const set = (have, place) => ask({ kind: 'set_on_hand', job: job(), item: row.key, have, place });
  const place = textField({ key: row.key + '/place', label: say(material ? 'roof_off.place' : 'roof_off.who'), value: row.place, hint: material ? say('roof_off.place_hint') : '', save: (text) => set(true, text) });
  place.hidden = row.have !== true;
  const stock = row.stock_place;
  const offered = stock && row.place !== stock
    ? make('button', { class: 'button', key: row.key + '/stock', attrs: { type: 'button' }, on: { click: () => run(() => set(true, stock)) } }, say('roof_off.from_stock', { place: stock }))
    : null;
  const same = material && !stock && near && row.have !== false && !row.place
    ? make('button', { class: 'button', key: row.key + '/same', attrs: { type: 'button' }, on: { click: () => run(() => set(true, near)) } }, say('roof_off.same_place', { place: near }))
    : null;
  return [
    offered ?? same,
    choice({
      key: row.key, label: say(material ? 'roof_off.on_hand' : 'roof_off.is_so', { title: row.title }), value: row.have === null ? null : row.have ? 'have' : 'have_not', columns: true,
      options: [{ value: 'have', label: say(material ? 'roof_off.have' : 'roof_off.yes') }, { value: 'have_not', label: say(material ? 'roof_off.have_not' : 'roof_off.not_yet') }],
      save: (have) => set(have === 'have', have === 'have' ? row.place : ''),
    }),
    place,
  ];
}

/** People, dry hours or cover. @param {RoofOffRow} row */
function entered(row) {
  const field = row.field;
  if (!field) return [];
  return [textField({
    key: row.key, label: row.title, value: row.value, hint: say('roof_off.hint_' + field),
    save: (text) => ask({ kind: 'set_roof_off', job: job(), field, value: text }),
  })];
}

/** What is entered in a row. @param {RoofOffRow} row @param {string} near */
function inputs(row, near) {
  if (row.key === 'go_ahead') return [make('a', { class: 'button', attrs: { href: link('figures.html', { job: job() }) } }, say('figures.title'))];
  return row.field ? entered(row) : thing(row, near);
}

/** A row closes when its thing is on hand (by its other key), so that what is missing stays in view. @param {RoofOffRow} row @param {string} near */
const rowPart = (row, near) => make('details', { class: row.ok ? 'check-row ok' : 'check-row', key: `row/${row.key}${row.ok && isMaterial(row) ? '/ready' : ''}`, attrs: { open: !row.ok } },
  make('summary', null, make('span', { text: row.title }), make('span', { class: 'state', text: say(row.ok ? 'roof_off.row_ok' : row.have === false ? 'roof_off.have_not' : 'roof_off.row_lacks') })),
  row.wanted ? make('p', { class: 'quiet', text: say('roof_off.wanted', { wanted: row.wanted }) }) : null,
  ...inputs(row, near),
  row.remark && (row.have !== null || row.value || row.key === 'go_ahead') ? make('p', { text: row.remark }) : null,
  row.by ? make('p', { class: 'quiet', text: say('work.by', { who: row.by }) }) : null);

/** Where the last thing lies that no stock place was known for. @param {RoofOffRow[]} rows */
const placeBefore = (rows) => rows.filter((row) => isMaterial(row) && row.place && !row.stock_place).pop()?.place ?? '';

/** What is missing; a long list is folded, since its rows stand below. @param {RoofOff} view */
function missing(view) {
  if (!view.lacks.length || view.opened) return null;
  const list = lacksList(say('roof_off.lacks'), view.lacks);
  if (view.lacks.length <= 5) return list;
  return make('details', { key: 'missing' }, make('summary', { text: say('roof_off.missing', { n: view.lacks.length, count: view.rows.length }) }), list);
}

/** Go or no-go, in words. @param {RoofOff} view */
function verdict(view) {
  const words = view.opened ? say('roof_off.opened', { when: when(view.opened) }) : say(view.go ? 'roof_off.go' : 'roof_off.no_go');
  return make('section', { class: view.go ? 'stand' : 'stand shut', attrs: { role: 'status' } },
    make('p', { class: 'verdict-words', text: words }),
    view.overruled ? make('p', { text: say('roof_off.overruled', { words: view.overruled }) }) : null,
    missing(view));
}

/** @param {RoofOff} view */
const mayOpen = (view) => view.go || view.overruled !== null;

/** @param {RoofOff} view */
function overrule(view) {
  if (mayOpen(view) || view.opened) return null;
  if (!view.may_overrule) return make('p', { class: 'quiet', text: say('roof_off.only_supervisor') });
  return make('details', { key: 'overrule' }, make('summary', { text: say('roof_off.overrule') }),
    textField({ key: 'overrule-reason', label: say('roof_off.overrule_reason'), value: '', hint: say('roof_off.overrule_hint'),
      save: async (reason) => { if (reason.trim()) await ask({ kind: 'overrule', job: job(), reason }); } }));
}

/** @param {RoofOff} view @param {HTMLElement} body */
function draw(view, body) {
  if (!view.needed) {
    body.append(make('p', { text: view.why_not_needed ?? say('roof_off.not_needed') }));
    return;
  }
  const parts = [
    verdict(view),
    make('p', { text: say('roof_off.cover_rule') }),
    ...view.rows.map((row, at) => rowPart(row, placeBefore(view.rows.slice(0, at)))),
    overrule(view),
    holdPart(view.head),
  ];
  for (const part of parts) if (part) body.append(part);
}

/** @param {RoofOff} view */
function tray(view) {
  const cut = { label: say('cut_list.title'), href: link('cut_list.html', { job: job() }) };
  const steps = { label: say('steps.title'), main: true, href: link('steps.html', { job: job() }) };
  if (!view.needed || view.opened) return [cut, steps];
  return [cut, { label: say('roof_off.open'), main: mayOpen(view), act: () => ask({ kind: 'open_roof', job: job() }) }];
}

await words();
start({ title: say('roof_off.title'), load: (/** @type {string} */ id) => askFor('roof_off', { kind: 'roof_off', job: id }), draw, tray });
