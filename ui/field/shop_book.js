/** Shop book: rates, prices and practice values with where each comes from; below it what lies in stock. */
import { askFor } from '../parts/ask.js';
import { drawBook } from '../parts/book.js';
import { start } from '../parts/page.js';
import { say, words } from '../parts/words.js';

await words();
start({ title: say('shop_book.title'), load: () => askFor('shop_book', { kind: 'shop_book' }), draw: drawBook, tray: () => [{ label: say('handover.yard'), main: true, href: 'yard.html' }] });
