/**
 * Roof-off check: nothing is opened until everything is on hand, with its place, and people, dry hours and a
 * cover for the night are there. Go or no-go stands in words at the head, with what is missing.
 */
import { ask, askFor } from '../parts/ask.js';
import { choice, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, run, start } from '../parts/page.js';
import { say, when, words } from '../parts/words.js';
import { keepPlace, there } from '../parts/place.js';
import { begin, holdPart, lacksList, link } from '../parts/work.js';

/** @typedef {import('../parts/types/RoofOffRow.ts').RoofOffRow} RoofOffRow */
/** @typedef {import('../parts/types/Shelf.ts').Shelf} Shelf */
/** @typedef {import('../parts/ask.js').Of<'roof_off'>} RoofOff */

/** Rows about material carry their shelf place; the others are conditions of the day. @param {RoofOffRow} row */
const isMaterial = (row) => row.key.startsWith('on_hand');

/** @param {RoofOffRow} row @param {boolean} have @param {string} place */
async function set(row, have, place) {
  await ask({ kind: 'set_on_hand', job: job(), item: row.key, have, place });
  if (have && isMaterial(row)) keepPlace(place);
}

/** @param {RoofOffRow} row */
const stateOf = (row) => say(row.ok ? 'roof_off.row_ok' : row.have === false ? 'roof_off.have_not' : 'roof_off.row_lacks');

/** One thing of a shelf, folded unless it was said not to be there: the shelf's own button answers for all of it. @param {RoofOffRow} row @param {string} place */
function thing(row, place) {
  const button = (/** @type {string} */ name, /** @type {() => unknown} */ act) => make('button', { class: 'button', key: `${row.key}/${name}`, attrs: { type: 'button', 'aria-label': `${say('roof_off.' + name)}: ${row.title}` }, on: { click: () => run(act) } }, say('roof_off.' + name));
  const wanted = row.wanted.replace(/, with its shelf place$/, '');
  return make('li', { class: row.ok ? 'check-row ok' : 'check-row', key: 'row/' + row.key }, make('details', { key: `${row.key}/more`, attrs: { open: !row.ok && row.have !== null } },
    make('summary', null, make('span', null, make('b', { text: row.title }), wanted ? ` ${wanted}` : ''), make('span', { class: 'state', text: stateOf(row) })),
    row.remark && !row.ok && (row.have !== null || !place) ? make('p', { text: row.remark }) : null,
    make('div', { class: 'buttons' },
      row.have !== true && place ? button('have', () => set(row, true, place)) : null,
      !row.ok && !place ? there(row.key, row.title, (known) => set(row, true, known)) : null,
      row.have !== false ? button('have_not', () => set(row, false, '')) : null),
    textField({ key: row.key + '/place', label: say('roof_off.place_of', { title: row.title }), value: row.place, hint: say('roof_off.place_hint'), save: (text) => set(row, true, text) }),
    row.by ? make('p', { class: 'quiet', text: say('work.by', { who: row.by }) }) : null));
}

/** Whether a shelf has something that one tap can answer. @param {Shelf} shelf */
const isOpen = (shelf) => Boolean(shelf.place && shelf.open.length);

/** One walk to each shelf: a tap says that all that is asked of it is there; the next one to go to is the main act. @param {Shelf} shelf @param {RoofOff} view */
function shelfPart(shelf, view) {
  const rows = shelf.rows.map((key) => view.rows.find((row) => row.key === key)).filter((row) => row !== undefined);
  const title = shelf.to_buy ? say('roof_off.to_buy') : shelf.place || say('roof_off.no_place');
  const key = `shelf/${shelf.to_buy ? 'buy' : shelf.place}`;
  const all = async (/** @type {string} */ place) => {
    await ask({ kind: 'set_shelf', job: job(), items: shelf.open, place });
    keepPlace(place);
  };
  const list = make('ul', { class: 'things' }, rows.map((row) => thing(row, shelf.to_buy ? '' : shelf.place)));
  if (rows.every((row) => row.ok)) return make('details', { class: 'shelf', key: key + '/ready' }, make('summary', null, make('span', { text: title }), make('span', { class: 'state', text: say('roof_off.all_there', { n: rows.length }) })), list);
  return make('section', { class: 'shelf', key, attrs: { 'aria-label': title } }, make('h3', { text: title }),
    shelf.to_buy ? make('a', { class: 'button', attrs: { href: link('buying.html', { job: job() }) } }, say('buying.title')) : null,
    isOpen(shelf) ? make('button', { class: shelf === view.shelves.find(isOpen) ? 'button main' : 'button wide', key: key + '/all', attrs: { type: 'button' }, on: { click: () => run(() => all(shelf.place)) } }, say('roof_off.all_here', { n: shelf.open.length })) : null,
    !shelf.place && shelf.open.length > (shelf.to_buy ? 1 : 0) ? textField({ key: key + '/place', label: say('roof_off.all_at', { n: shelf.open.length }), value: '', hint: say('roof_off.place_hint'), save: async (text) => { if (text.trim()) await all(text); } }) : null,
    list);
}

/** A condition of the day: a number or words, or looked at and so. @param {RoofOffRow} row */
function conditionPart(row) {
  const field = row.field;
  const inside = row.key === 'go_ahead' ? make('a', { class: 'button', attrs: { href: link('figures.html', { job: job() }) } }, say('figures.title'))
    : field ? textField({ key: row.key, label: row.title, value: row.value, hint: say('roof_off.hint_' + field), save: (text) => ask({ kind: 'set_roof_off', job: job(), field, value: text }) })
      : choice({ key: row.key, label: say('roof_off.is_so', { title: row.title }), value: row.have === null ? null : row.have ? 'have' : 'have_not', columns: true,
        options: [{ value: 'have', label: say('roof_off.yes') }, { value: 'have_not', label: say('roof_off.not_yet') }], save: (have) => set(row, have === 'have', have === 'have' ? row.place : '') });
  return make('details', { class: row.ok ? 'check-row ok' : 'check-row', key: `row/${row.key}${row.ok ? '/ready' : ''}`, attrs: { open: !row.ok } },
    make('summary', null, make('span', { text: row.title }), make('span', { class: 'state', text: stateOf(row) })),
    row.wanted ? make('p', { class: 'quiet', text: say('roof_off.wanted', { wanted: row.wanted }) }) : null,
    inside,
    !field && row.have === true ? textField({ key: row.key + '/remark', label: say('roof_off.who'), value: row.place, hint: '', save: (text) => set(row, true, text) }) : null,
    row.remark && (row.have !== null || row.value || row.key === 'go_ahead') ? make('p', { text: row.remark }) : null,
    row.by ? make('p', { class: 'quiet', text: say('work.by', { who: row.by }) }) : null);
}

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
    make('h2', { text: say('roof_off.shelves') }),
    ...view.shelves.map((shelf) => shelfPart(shelf, view)),
    make('h2', { text: say('roof_off.the_day') }),
    ...view.rows.filter((row) => !isMaterial(row)).map(conditionPart),
    overrule(view),
    holdPart(view.head),
  ];
  for (const part of parts) if (part) body.append(part);
}

/** @param {RoofOff} view */
function tray(view) {
  const cut = { label: say('cut_list.title'), href: link('cut_list.html', { job: job() }) };
  if (!view.needed) return [cut, { ...begin(view.head), main: true }];
  if (view.opened) return [cut, { label: say('steps.title'), main: true, href: link('steps.html', { job: job() }) }];
  return [cut, { label: say('roof_off.open'), main: mayOpen(view), act: () => ask({ kind: 'open_roof', job: job() }) }];
}

await words();
start({ title: say('roof_off.title'), load: (/** @type {string} */ id) => askFor('roof_off', { kind: 'roof_off', job: id }), draw, tray });
