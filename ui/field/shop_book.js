/** Shop book: rates, prices and practice values with where each comes from; below it what lies in stock. */
import { askFor } from '../parts/ask.js';
import { make } from '../parts/make.js';
import { start } from '../parts/page.js';
import { say, words } from '../parts/words.js';
import { from } from '../parts/work.js';

/** @typedef {import('../parts/ask.js').Of<'shop_book'>} ShopBook */

/** @template T @param {T[]} rows @param {(row: T) => string} name @returns {Map<string, T[]>} */
function grouped(rows, name) {
  const groups = new Map();
  for (const row of rows) groups.set(name(row), [...(groups.get(name(row)) ?? []), row]);
  return groups;
}

/** @param {ShopBook} view @param {HTMLElement} body */
function draw(view, body) {
  body.append(make('p', { text: say('shop_book.lead') }));
  if (!view.values.length) body.append(make('p', { text: say('shop_book.empty') }));
  for (const [group, rows] of grouped(view.values, (row) => row.group)) {
    body.append(make('details', { key: 'group/' + group }, make('summary', {}, make('span', { text: say('shop_book.of_' + group) }), make('span', { class: 'state', text: say('shop_book.values', { n: rows.length }) })),
      ...rows.map((row) => make('div', { class: 'book-row' }, make('span', { text: row.name }), make('b', { text: row.value }), make('span', { class: 'quiet' }, from(row.standing))))));
  }
  body.append(make('h2', { text: say('shop_book.stock') }));
  if (!view.stock.length) body.append(make('p', { text: say('shop_book.no_stock') }));
  for (const row of view.stock) {
    body.append(make('div', { class: 'book-row' }, make('span', { text: row.drop ? say('shop_book.drop', { name: row.name }) : row.name }), make('b', { text: row.count }),
      make('span', { class: 'quiet', text: [row.size, row.place, row.reserved].filter(Boolean).join(' · ') })));
  }
}

await words();
start({ title: say('shop_book.title'), load: () => askFor('shop_book', { kind: 'shop_book' }), draw, tray: () => [{ label: say('handover.yard'), main: true, href: 'yard.html' }] });
