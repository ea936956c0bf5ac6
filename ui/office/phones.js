/** Phones that the office knows: a code for a new one, a lost one taken back, and what it sent since. */
import { ask, askFor } from '../parts/ask.js';
import { make } from '../parts/make.js';
import { run, showDialog, start } from '../parts/page.js';
import { say, when, words } from '../parts/words.js';

/** @typedef {import('../parts/ask.js').Of<'phones'>} Phones */
/** @typedef {import('../parts/ask.js').Of<'new_code'>} NewCode */
/** @typedef {import('../parts/types/PhoneRow.ts').PhoneRow} PhoneRow */

/** @type {NewCode | null} */
let code = null;

/** The drawing that the core made, as an element: nothing in it is looked at as a page. @param {string} svg */
function drawing(svg) {
  const image = make('img', { class: 'qr', attrs: { alt: say('phones.qr_alt'), src: URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' })) } });
  image.addEventListener('load', () => URL.revokeObjectURL(image.src));
  return image;
}

function codePart() {
  if (!code) return null;
  const address = location.origin + '/office';
  return make('section', { class: 'stand', attrs: { role: 'status' } }, make('h2', { text: say('office.code') }),
    make('p', { text: say('phones.how') }),
    make('p', { class: 'hint', text: say('phones.address') }), make('p', { class: 'code-words', text: address }),
    make('p', { class: 'hint', text: say('phones.letters') }), make('p', { class: 'code', text: code.code }),
    make('p', { class: 'hint', text: say('phones.words') }), make('p', { class: 'code-words', text: code.words }),
    code.qr ? drawing(code.qr) : null,
    make('p', { text: say('office.code_until', { when: when(code.until) }) }));
}

/** @param {PhoneRow} phone */
function sure(phone) {
  const dialog = showDialog(say('phones.take_back_what', { name: phone.name }), make('p', { text: say('phones.take_back_words') }),
    make('div', { class: 'over-acts' }, make('button', { class: 'main', text: say('phones.take_back'), attrs: { type: 'button' }, on: { click: () => { dialog.close(); run(() => ask({ kind: 'take_back', device: phone.device })); } } })));
}

/** @param {PhoneRow} phone */
function apartPart(phone) {
  if (!Number(phone.apart)) return null;
  return make('section', { class: 'notice' }, make('p', { text: say('phones.apart', { n: Number(phone.apart) }) }),
    make('ul', { class: 'listed' }, ...phone.apart_words.map((text) => make('li', { text }))),
    make('p', { class: 'hint', text: say('phones.take_in_words') }),
    make('button', { key: phone.device + '/in', text: say('phones.take_in'), attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'take_in', device: phone.device })) } }));
}

/** @param {PhoneRow} phone */
const phonePart = (phone) => make('section', { class: phone.taken_back ? 'card over' : 'card', key: phone.device, attrs: { 'aria-label': phone.name } },
  make('h2', { class: 'lesser', text: phone.name || say('phones.no_name') }),
  make('p', { text: phone.taken_back ? say('phones.was_taken_back', { when: phone.taken_back_at ? when(phone.taken_back_at) : '' }) : say('phones.since', { when: when(phone.since) }) }),
  phone.last_heard ? make('p', { class: 'quiet', text: say('phones.heard', { when: when(phone.last_heard) }) }) : null,
  apartPart(phone),
  phone.taken_back ? null : make('button', { key: phone.device + '/back', text: say('phones.lost'), attrs: { type: 'button' }, on: { click: () => sure(phone) } }));

/** @param {Phones} view @param {HTMLElement} body */
function draw(view, body) {
  for (const part of [codePart(), view.phones.length ? null : make('p', { text: say('phones.empty') }), ...view.phones.map(phonePart)]) if (part) body.append(part);
}

async function newCode() {
  code = await askFor('new_code', { kind: 'new_code', office: location.origin + '/office' });
  scrollTo(0, 0);
}

await words();
start({ title: say('screen.phones'), load: () => askFor('phones', { kind: 'phones' }), draw, tray: () => [{ label: say('office.title'), href: 'list.html' }, { label: say('office.new_code'), main: true, act: newCode }] });
