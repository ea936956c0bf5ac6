/** Outbox: what waits to be sent, what is on its way, what the office has. No network is a normal state here. */
import { ask, askFor } from '../parts/ask.js';
import { choice, fileField, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { saveMade } from '../parts/packet.js';
import { hello, redraw, refresh, run, showDialog, start, tell } from '../parts/page.js';
import { phoneWords } from '../parts/phone.js';
import { bytes, say, when, wordOf } from '../parts/words.js';

/** @typedef {import('../parts/types/OutboxRow.ts').OutboxRow} OutboxRow */

/** What is typed to make the phone known, until it is known. */
const typed = { office: '', code: '', name: '' };
/** How often the page looks again while it is open. */
const LOOK_AGAIN_MS = 5000;

/** @param {OutboxRow} row */
function line(row) {
  const [left, there] = [Number(row.bytes), Number(row.arrived_bytes)];
  const size = left === 0 ? '' : there > 0 ? say('outbox.bytes_of', { size: bytes(there), all: bytes(there + left) }) : bytes(left);
  const facts = [row.entries > 0 ? say('outbox.entries', { n: row.entries }) : '', size].filter(Boolean).join(' · ');
  const stuck = row.why ? [make('br'), make('strong', { text: row.why }), make('br'), make('span', { text: say('outbox.stuck_do') })] : null;
  return make('li', null, make('a', { key: row.job, attrs: { href: `arrival.html?job=${row.job}` } },
    make('span', { class: 'what' }, make('b', { text: row.unit }), make('br'), row.words || wordOf('outbox', row.state), stuck, facts ? [make('br'), make('span', { class: 'quiet', text: facts })] : null,
      left > 0 && there > 0 ? make('progress', { attrs: { max: there + left, value: there, 'aria-hidden': 'true' } }) : null),
    make('strong', { text: wordOf('outbox', row.state) })));
}

/** The choice that photos wait for Wi-Fi; what the phone says of its network stands beside it. @param {import('../parts/ask.js').Of<'outbox'>} view */
const waitPart = (view) => make('section', { key: 'wait' },
  choice({ key: 'photos-wait', label: say('outbox.photos_go'), value: String(view.photos_wait), options: ['false', 'true'].map((value) => ({ value, label: say(`outbox.wait_${value}`) })), save: async (value) => { await ask({ kind: 'photos_wait', wait: value === 'true' }); } }),
  make('p', { class: 'hint', text: say(view.metered === null ? 'outbox.network_unknown' : view.metered ? 'outbox.network_metered' : 'outbox.network_free') }));

/** @typedef {import('../parts/types/Room.ts').Room} Room */

/** Bytes of all photos. @param {Room} room */
const all = (room) => Number(room.originals) + Number(room.copies);

/** Frees, and says what it was before and is after. @param {Room} before @param {boolean} originals */
const free = (before, originals) => run(async () => {
  const after = await ask({ kind: 'free_room', originals });
  if (after.kind !== 'room') return;
  room = after;
  queueMicrotask(() => tell(say('outbox.freed', { size: bytes(Number(after.freed)), before: bytes(all(before)), after: bytes(all(after)) })));
});

/** What cannot be brought back is asked once more. @param {Room} room */
function sure(room) {
  const dialog = showDialog(say('outbox.free_originals', { n: room.office_photos, size: bytes(Number(room.office)) }), make('p', { text: say('outbox.free_originals_words') }),
    make('div', { class: 'over-acts' }, make('button', { class: 'main', text: say('outbox.free_sure'), attrs: { type: 'button' }, on: { click: () => { dialog.close(); free(room, true); } } })));
}

/** Worked out only when it is looked at: every photo's file is asked for its size. @type {Room | null} */
let room = null;

async function look() {
  room = await askFor('room', { kind: 'room' });
  redraw();
}

/** @param {Room} room */
function roomWords(room) {
  const button = (/** @type {string} */ text, /** @type {() => void} */ act) => make('button', { text, attrs: { type: 'button' }, on: { click: act } });
  return [make('p', { text: `${say('outbox.room_originals', { size: bytes(Number(room.originals)) })}, ${say('outbox.room_copies', { size: bytes(Number(room.copies)) })}` }),
    make('p', { class: 'hint', text: say('outbox.free_copies_words') }), button(say('outbox.free_copies', { size: bytes(Number(room.copies)) }), () => free(room, false)),
    make('p', { class: 'hint', text: say(room.office_photos ? 'outbox.free_originals_words' : 'outbox.nothing_to_free') }),
    room.office_photos ? button(say('outbox.free_originals', { n: room.office_photos, size: bytes(Number(room.office)) }), () => sure(room)) : null];
}

const roomPart = () => make('details', { key: 'room', on: { toggle: (event) => { if (event.target.open && !room) look(); } } },
  make('summary', null, make('span', { text: say('outbox.room') }), make('b', { text: room ? bytes(all(room)) : '' })), room ? roomWords(room) : null);

/** What a QR code of the office says is its address and the code together. @param {'office' | 'code' | 'name'} name @param {string} text */
function take(name, text) {
  const [address, code] = text.split('#');
  if (name === 'name' || code === undefined) typed[name] = text;
  else [typed.office, typed.code] = [address ?? '', code];
  if (code !== undefined) queueMicrotask(redraw);
}

/** @param {boolean} known */
function enrol(known) {
  const field = (/** @type {'office' | 'code' | 'name'} */ name) => textField({ key: `enrol-${name}`, label: say(`outbox.${name}`), hint: say(`outbox.${name}_hint`), value: typed[name], quiet: true, save: async (text) => take(name, text.trim()) });
  const form = [field('office'), field('code'), field('name'),
    make('button', { class: 'main', key: 'enrol', text: say('outbox.enrol_now'), attrs: { type: 'button' }, on: { click: () => run(async () => {
      await ask({ kind: 'enrol', office: typed.office, code: typed.code, name: typed.name });
      typed.code = '';
    }) } })];
  if (!known) return make('section', { key: 'enrol-form' }, make('h2', { text: say('outbox.enrol') }), form);
  return make('details', { key: 'enrol-form' }, make('summary', { text: say('outbox.again') }), form);
}

/** What the phone says of its room and network. @type {string[]} */
let phone = [];

/** What waits goes into a file for a memory card; the office's answer to it comes back as a file. */
async function writeCard() {
  const card = await askFor('card_written', { kind: 'write_card' });
  if (!card.saved) saveMade(card.name);
  const words = say('outbox.card_written', { entries: card.entries, photos: card.photos, size: bytes(Number(card.bytes)), where: card.saved ?? card.name });
  queueMicrotask(() => tell([words, ...card.lacks].join(' ')));
}

/** @param {File} file */
async function readCard(file) {
  const told = await ask({ kind: 'read_card_back' }, file);
  if (told.kind === 'card_back') queueMicrotask(() => tell(say('outbox.card_back_read', { arrived: told.arrived, stuck: told.stuck, received: told.received })));
}

const cardPart = () => make('details', { key: 'card' }, make('summary', { text: say('outbox.card') }), make('p', { class: 'hint', text: say('outbox.card_words') }),
  make('button', { key: 'card-write', text: say('outbox.card_write'), attrs: { type: 'button' }, on: { click: () => run(writeCard) } }), fileField('card-back', say('outbox.card_back'), '.json', (file) => run(() => readCard(file))));

start({
  title: 'outbox.title',
  open: true,
  load: async () => {
    // What the phone says of itself is beside the matter: where it says nothing, the Outbox is shown all the same.
    phone = await phoneWords().catch(() => []);
    return askFor('outbox', { kind: 'outbox' });
  },
  draw: (view, body) => {
    body.append(make('p', { key: 'words', attrs: { role: 'status' }, text: view.words }));
    if (Number(view.waiting_bytes) > 0) body.append(make('p', { key: 'bytes', class: 'number', text: say('outbox.bytes', { size: bytes(Number(view.waiting_bytes)) }) }));
    if (view.office) body.append(make('p', { key: 'heard', class: 'hint', text: view.last_heard ? say('outbox.heard', { office: view.office, at: when(view.last_heard) }) : say('outbox.never_heard', { office: view.office }) }));
    body.append(make('ul', { class: 'rows', key: 'rows' }, view.rows.map(line)));
    if (view.rows.length === 0 && !view.office) body.append(make('p', { class: 'empty', key: 'empty', text: say('outbox.empty') }));
    body.append(...phone.map((text, at) => make('p', { class: 'hint', key: `phone-${at}`, text })));
    if (view.office) body.append(waitPart(view), cardPart());
    body.append(roomPart(), enrol(Boolean(hello().enrolled)));
  },
  tray: (view) => (view.office ? [{ label: say('outbox.try_now'), act: () => ask({ kind: 'try_now' }), main: true }] : []),
});
setInterval(() => { if (!document.hidden) refresh(); }, LOOK_AGAIN_MS);
