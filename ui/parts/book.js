/** Shop book and stock list drawn: read only, or as fields that save themselves for who may change them. */
import { ask } from './ask.js';
import { choice, dateField, textField } from './fields.js';
import { make } from './make.js';
import { redraw, run, tell } from './page.js';
import { day, say, when } from './words.js';
import { from } from './work.js';

/** @typedef {import('./ask.js').Of<'shop_book'>} ShopBook */
/** @typedef {import('./types/BookRow.ts').BookRow} BookRow */
/** @typedef {import('./types/StockRow.ts').StockRow} StockRow */
/** @typedef {import('./types/TypedStock.ts').TypedStock} TypedStock */
/** @typedef {import('./types/Cure.ts').Cure} Cure */
/** @typedef {import('./types/Closed.ts').Closed} Closed */

/** @type {TypedStock['form'][]} */
const FORMS = ['sheet', 'bar', 'coil', 'drop'];
/** @returns {TypedStock} */
const nothing = () => ({ item: '', name: '', form: 'bar', length: '', width: '', thickness: '', place: '', there: '', price: '' });
/** A new line, until it is added; and a new label and closed day. */
const fresh = { stock: nothing(), cure: { product: '', at: '', hours: '' }, closed: { day: '', why: '' } };

/** What is looked for, in small letters, word by word. */
let find = '';
/** Whether all that is looked for stands in these words. @param {...(string | null | undefined)} words */
const isFound = (...words) => find.split(/\s+/).every((one) => words.join(' ').toLowerCase().includes(one));

/**
 * A group that opens; while something is looked for it stands open, with what is found in it.
 * @param {string} key @param {string} title @param {string} state @param {HTMLElement[]} rows what is found in it @param {(HTMLElement | null)[]} [more] shown where nothing is looked for
 */
const group = (key, title, state, rows, more = []) => (find && !rows.length ? null : make('details', { key: find ? `${key}/found` : key, attrs: { open: find !== '' } },
  make('summary', {}, make('span', { text: title }), make('span', { class: 'state', text: state })), ...(find ? [] : more.slice(0, 1)), ...rows, ...(find ? [] : more.slice(1))));

/** @template T @param {T[]} rows @param {(row: T) => string} name @returns {Map<string, T[]>} */
function grouped(rows, name) {
  const groups = new Map();
  for (const row of rows) groups.set(name(row), [...(groups.get(name(row)) ?? []), row]);
  return groups;
}

/** @param {string} key @param {string} text @param {() => unknown} act */
const button = (key, text, act, look = '') => make('button', { class: look, key, text, attrs: { type: 'button' }, on: { click: act } });

/** @param {BookRow} row @param {boolean} may */
function valuePart(row, may) {
  if (!may) return make('div', { class: 'book-row' }, make('span', { text: row.name }), make('b', { text: row.value }), make('span', { class: 'quiet' }, from(row.standing)));
  const key = `${row.group}/${row.key}`;
  return make('div', { class: 'book-field', key }, textField({ key, label: row.name, value: row.value, hint: row.start ? say('shop_book.starts_at', { value: row.start }) : '',
    save: (value) => ask({ kind: 'set_book', group: row.group, key: row.key, value }) }), make('span', { class: 'quiet' }, from(row.standing)));
}

/** A field of something new: kept as typed until it is added. @param {string} key @param {string} label @param {Record<string, string>} into @param {string} name @param {typeof textField} [kind] */
const newField = (key, label, into, name, kind = textField) => kind({ key, label, value: into[name] ?? '', quiet: true, save: async (text) => { into[name] = text; } });

/** @param {Cure[]} lines @param {boolean} may */
function cures(lines, may) {
  const title = say('shop_book.of_cure');
  const rows = lines.filter((line) => isFound(title, line.product)).map((line) => make('div', { class: 'book-row', key: `cure/${line.product}/${line.at_f}` }, make('span', { text: say('shop_book.cure_line', { product: line.product, at: String(line.at_f) }) }), make('b', { text: say('shop_book.hours', { hours: line.hours }) }),
    may ? button(`cure/${line.product}/${line.at_f}/off`, say('shop_book.off'), () => run(() => ask({ kind: 'set_cure', product: line.product, at: String(line.at_f), hours: '' }))) : null));
  const add = () => run(async () => { await ask({ kind: 'set_cure', ...fresh.cure }); fresh.cure = { product: fresh.cure.product, at: '', hours: '' }; });
  return group('group/cure', title, say('shop_book.values', { n: rows.length }), rows, [make('p', { class: 'hint', text: say('shop_book.cure_hint') }),
    may ? make('fieldset', null, make('legend', { text: say('shop_book.new_cure') }), make('div', { class: 'three' },
      newField('cure/product', say('shop_book.product'), fresh.cure, 'product'), newField('cure/at', say('shop_book.at'), fresh.cure, 'at'), newField('cure/hours', say('shop_book.cure_hours'), fresh.cure, 'hours')),
      button('cure/add', say('shop_book.add'), add)) : null]);
}

/** @param {Closed[]} days @param {boolean} may */
function closedDays(days, may) {
  const title = say('shop_book.closed');
  const rows = days.filter((one) => isFound(title, day(one.day), one.day, one.why)).map((one) => make('div', { class: 'book-row', key: 'closed/' + one.day }, make('span', { text: day(one.day) }), make('b', { text: one.why }),
    may ? button(`closed/${one.day}/off`, say('shop_book.off'), () => run(() => ask({ kind: 'set_closed', day: one.day, why: '', closed: false }))) : null));
  const add = () => run(async () => { await ask({ kind: 'set_closed', ...fresh.closed, closed: true }); fresh.closed = { day: '', why: '' }; });
  return group('group/closed', title, say('shop_book.days', { n: rows.length }), rows, [make('p', { class: 'hint', text: say('shop_book.closed_hint') }),
    may ? make('fieldset', null, make('legend', { text: say('shop_book.new_closed') }), newField('closed/day', say('shop_book.day'), fresh.closed, 'day', dateField), newField('closed/why', say('shop_book.why'), fresh.closed, 'why'),
      button('closed/add', say('shop_book.add'), add)) : null]);
}

/** Fields of a stock line. @param {string} key @param {TypedStock} line @param {(change: Partial<TypedStock>) => Promise<unknown>} save @param {boolean} quiet */
function stockFields(key, line, save, quiet) {
  const field = (/** @type {keyof TypedStock} */ name, hint = '') => textField({ key: `${key}/${name}`, label: say('shop_book.stock_' + name), hint, value: line[name], quiet, save: (text) => save({ [name]: text }) });
  return make('div', null,
    field('there', say(line.form === 'coil' ? 'shop_book.there_coil' : 'shop_book.there_hint')), field('name'), field('item', say('shop_book.item_hint')),
    choice({ key: key + '/form', label: say('shop_book.stock_form'), value: line.form, options: FORMS.map((form) => ({ value: form, label: say('shop_book.form_' + form) })), save: (form) => save({ form: /** @type {TypedStock['form']} */ (form) }) }),
    make('div', { class: 'three' }, field('length'), field('width'), field('thickness')), field('place'), field('price'));
}

/** @param {StockRow} row @param {boolean} may */
function stockPart(row, may) {
  const name = row.drop ? say('shop_book.drop', { name: row.name }) : row.name;
  const facts = make('span', { class: 'quiet', text: [row.size, row.place, row.reserved].filter(Boolean).join(' · ') });
  const { typed } = row;
  if (!may || !typed) return make('div', { class: 'book-row', key: 'stock/' + row.key }, make('span', { text: name }), make('b', { text: row.count }), facts);
  return make('details', { class: 'book-stock', key: 'stock/' + row.key }, make('summary', null, make('span', { class: 'book-row' }, make('span', { text: name }), make('b', { text: row.count }), facts)),
    stockFields('stock/' + row.key, typed, (change) => ask({ kind: 'set_stock', stock: row.key, line: { ...typed, there: '', ...change } }), false),
    button(`stock/${row.key}/off`, say('shop_book.stock_off'), () => run(() => ask({ kind: 'set_stock', stock: row.key, line: null }))));
}

function newStock() {
  const add = () => run(async () => { await ask({ kind: 'set_stock', stock: null, line: fresh.stock }); tell(say('shop_book.added', { name: fresh.stock.name })); fresh.stock = nothing(); });
  return make('details', { class: 'card', key: 'stock/new' }, make('summary', { text: say('shop_book.new_stock') }),
    stockFields('stock/new', fresh.stock, async (change) => { Object.assign(fresh.stock, change); }, true),
    button('stock/new/add', say('shop_book.add'), add, 'main'));
}

/** @param {ShopBook} view @param {HTMLElement} body */
export function drawBook(view, body) {
  const may = !view.may_not;
  body.append(make('p', { text: say(may ? 'shop_book.lead_may' : 'shop_book.lead') }));
  if (view.may_not) body.append(make('p', { class: 'hint', text: view.may_not }));
  body.append(textField({ key: 'find', label: say('shop_book.find'), type: 'search', value: find, hint: say('shop_book.find_hint'), quiet: true, save: async (text) => { find = text.trim().toLowerCase(); redraw(); } }));
  const groups = [...grouped(view.values, (row) => row.group)].map(([name, all]) => {
    const title = say('shop_book.of_' + name);
    const rows = all.filter((row) => isFound(title, row.name));
    return group('group/' + name, title, say('shop_book.values', { n: rows.length }), rows.map((row) => valuePart(row, may)));
  });
  const title = say('shop_book.stock');
  const stock = view.stock.filter((row) => isFound(title, row.name, row.size, row.place));
  const shown = [...groups, cures(view.cure, may), closedDays(view.closed, may), !find || stock.length ? make('h2', { text: title }) : null].filter((part) => part !== null);
  body.append(...shown);
  if (find && !shown.length) body.append(make('p', { class: 'empty', text: say('shop_book.none_found') }));
  if (!view.stock.length && !find) body.append(make('p', { text: say('shop_book.no_stock') }));
  body.append(...stock.map((row) => stockPart(row, may)));
  if (find) return;
  if (may) body.append(newStock());
  if (view.changes.length) {
    body.append(make('details', { key: 'changes' }, make('summary', { text: say('shop_book.changes') }), make('ul', { class: 'listed' },
      ...view.changes.map((old) => make('li', { text: say('shop_book.change', { what: old.what, was: old.was || say('shop_book.nothing'), now: old.now || say('shop_book.nothing'), who: old.by, when: when(old.at) }) })))));
  }
}
