/**
 * The packet as a file: with or without prices, in the form that somebody wants. While it is made its photos are
 * counted and it can be stopped; then the browser saves it, or the shell has put it where a person finds it.
 */
import { ask, askFor, atOffice } from './ask.js';
import { make } from './make.js';
import { redraw, run, showWrong, tell } from './page.js';
import { onPhone, sharePacket } from './phone.js';
import { bytes, say } from './words.js';
import { link } from './work.js';

/** @typedef {import('./types/PacketForm.ts').PacketForm} PacketForm */

/** Forms that are saved, the one that most people want first. @type {PacketForm[]} */
const FORMS = ['pdf', 'xlsx', 'csv', 'json'];
/** How often one asks how far it is, in milliseconds. */
const LOOK = 400;

/** With prices or without, as chosen on this page; without is never the default, so that nothing is missing unseen. */
let prices = true;
/** How far the packet is that is being made, in words. @type {string | null} */
let far = null;

/** Puts the words of the progress where they are read, without drawing the page anew. */
function show() {
  const line = document.querySelector('[data-key="packet/far"]');
  if (line && far) line.textContent = far;
  else redraw();
}

/** @param {string} job */
async function watch(job) {
  while (far !== null) {
    await new Promise((done) => setTimeout(done, LOOK));
    if (far === null) return;
    const at = await askFor('packet_progress', { kind: 'packet_progress', job });
    if (far === null || far === say('packet.stopping') || !at.making || !at.of) continue;
    far = at.matched < at.to_match ? say('packet.matching', { n: at.matched, of: at.to_match }) : say('packet.far', { photos: at.photos, of: at.of });
    show();
  }
}

/** The browser's way of saving: the file comes from the program that served the page. @param {string} name */
export function saveMade(name) {
  const anchor = make('a', { attrs: { href: `${atOffice() ? '/office' : ''}/packet/${encodeURIComponent(name)}`, download: name } });
  document.body.append(anchor);
  anchor.click();
  anchor.remove();
}

/** @param {string} job @param {PacketForm} form */
async function made(job, form) {
  far = say('packet.begun');
  show();
  watch(job).catch(() => {});
  try {
    const file = await askFor('packet_file', { kind: 'make_packet', job, form, prices });
    far = null;
    if (onPhone()) await sharePacket(file.name);
    else if (!file.saved) saveMade(file.name);
    setTimeout(() => tell(say(file.saved ? 'packet.saved' : onPhone() ? 'packet.shared' : 'packet.made', { name: file.name, where: file.saved ?? '', size: bytes(file.bytes), hash: file.sha256.slice(0, 16) })));
  } finally {
    far = null;
  }
}

/** Stopping goes round the page's one act at a time, which is the one that is stopped. @param {string} job */
async function stop(job) {
  far = say('packet.stopping');
  show();
  await ask({ kind: 'stop_packet', job }).catch((error) => showWrong(String(error)));
}

/** @param {string} value @param {string} label */
function price(value, label) {
  const radio = make('input', { attrs: { type: 'radio', name: 'packet-prices', value } });
  radio.checked = (value === 'with') === prices;
  radio.addEventListener('change', () => { prices = value === 'with'; redraw(); });
  return make('label', { class: 'option', key: `packet/prices=${value}` }, radio, make('span', { text: label }));
}

/**
 * The part of a page.
 * @param {{job: string, lacks: number, read?: boolean}} of `lacks` is how many things lack; `read` also links to
 *   the packet to read and print
 */
export function packetPart({ job, lacks, read }) {
  const button = (/** @type {PacketForm} */ form) =>
    make('button', { class: 'button', key: `packet/${form}`, attrs: { type: 'button' }, on: { click: () => run(() => made(job, form)) } }, say('packet.' + form));
  return make('section', { key: 'packet', attrs: { 'aria-label': say('handover.packet') } }, make('h2', { text: say('handover.packet') }),
    make('p', { text: say('handover.packet_words') }),
    lacks ? make('p', { class: 'notice', text: say('packet.lacks', { n: lacks }) }) : null,
    make('fieldset', { class: 'choice columns' }, make('legend', { text: say('packet.prices') }),
      make('div', { class: 'options' }, price('with', say('packet.with')), price('without', say('packet.without')))),
    far !== null
      ? make('div', null, make('p', { key: 'packet/far', text: far, attrs: { role: 'status' } }), make('p', { class: 'buttons' }, make('button', { class: 'button', key: 'packet/stop', attrs: { type: 'button' }, on: { click: () => stop(job) } }, say('packet.stop'))))
      : make('p', { class: 'buttons' },
        read ? make('a', { class: 'button', attrs: { href: link('packet.html', prices ? { job } : { job, prices: 'no' }) } }, say('handover.read')) : null,
        FORMS.map(button)));
}
