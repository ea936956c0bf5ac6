/** A phone's memory card, read at the office: what came of it, and the answer to put on it for the phone. */
import { Refused } from '../parts/ask.js';
import { fileField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { run } from '../parts/page.js';
import { core, say } from '../parts/words.js';
import { download, lacksList } from '../parts/work.js';

/** @typedef {{phone: string, entries: number, photos: number, not_known: number, refused: string[], wrong: string[], back: string}} CardRead */

/** What the last card brought, until another page is opened. @type {CardRead | null} */
let card = null;

/** A card goes to the office as it is, however large; what it answers says what came. @param {File} file */
async function readCard(file) {
  const response = await fetch('/office/card', { method: 'POST', headers: { bowseam: '1', 'content-type': 'application/x-tar' }, body: file });
  const told = await response.json();
  if (!response.ok) throw new Refused(told);
  card = told;
}

/** The part of a page. */
export function cardPart() {
  const read = fileField('card', say('office.card'), '.tar', (file) => run(() => readCard(file)));
  const came = card;
  if (!came) return make('details', { key: 'cards' }, make('summary', { text: say('office.cards') }), make('p', { text: say('office.cards_words') }), read);
  const name = say('office.card_file', { phone: came.phone });
  return make('section', { class: 'stand', key: 'cards', attrs: { role: 'status' } }, make('h2', { text: say('office.card_came', { phone: came.phone }) }),
    make('p', { text: say('office.card_counts', { entries: came.entries, photos: came.photos }) }),
    came.not_known ? make('p', { text: say('office.card_not_known', { n: came.not_known }) }) : null,
    came.wrong.length || came.refused.length ? lacksList(say('office.card_wrong'), [...came.wrong, ...came.refused].map(core)) : null,
    make('p', { text: say('office.card_back_words') }),
    make('button', { class: 'button main', attrs: { type: 'button' }, text: say('office.card_back'), on: { click: () => download(came.back, 'application/json', name) } }), read);
}
