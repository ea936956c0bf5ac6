/** Shop book and stock list at the office, where supervisors change them for all phones. */
import { askFor } from '../parts/ask.js';
import { drawBook } from '../parts/book.js';
import { start } from '../parts/page.js';
import { say, words } from '../parts/words.js';

await words();
start({ title: say('shop_book.title'), load: () => askFor('shop_book', { kind: 'shop_book' }), draw: drawBook, tray: () => [{ label: say('office.title'), href: 'list.html', main: true }] });
