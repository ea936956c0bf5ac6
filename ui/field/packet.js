/**
 * The packet to read and print. It comes as one HTML page with its own style; its style rules are put into this
 * page's style sheet one by one, since the page's content policy lets no style stand in the page itself.
 */
import { askFor } from '../parts/ask.js';
import { make } from '../parts/make.js';
import { job, param, start } from '../parts/page.js';
import { onPhone } from '../parts/phone.js';
import { say, words } from '../parts/words.js';
import { download, link } from '../parts/work.js';

/** @typedef {import('../parts/ask.js').Of<'packet'>} Packet */

/** Cuts a style text into its rules; braces may stand within one another. @param {string} text */
function rules(text) {
  const found = [];
  let depth = 0;
  let begin = 0;
  for (let at = 0; at < text.length; at += 1) {
    if (text[at] === '{') depth += 1;
    if (text[at] === '}' && (depth -= 1) === 0) { found.push(text.slice(begin, at + 1).trim()); begin = at + 1; }
  }
  return found;
}

/** Style of the packet: taken out of its text before that is read as a page, since this page would refuse it. */
const STYLE = /<style[^>]*>([\s\S]*?)<\/style>/gi;

/** Its rules name the class `packet` each, so that head and tray keep their look. @param {string} text */
function style(text) {
  const sheet = /** @type {HTMLLinkElement | null} */ (document.querySelector('link[href$="packet.css"]'))?.sheet;
  if (!sheet) return;
  while (sheet.cssRules.length) sheet.deleteRule(0);
  for (const [, found] of text.matchAll(STYLE)) {
    for (const rule of rules((found ?? '').replace(/\/\*[\s\S]*?\*\//g, ''))) sheet.insertRule(rule, sheet.cssRules.length);
  }
}

/** @param {Packet} view @param {HTMLElement} body */
function draw(view, body) {
  const packet = new DOMParser().parseFromString(view.text.replace(STYLE, ''), 'text/html');
  for (const node of packet.querySelectorAll('script')) node.remove();
  style(view.text);
  body.append(make('article', { class: 'packet' }, ...Array.from((packet.querySelector('main') ?? packet.body).children)), make('p', { class: 'quiet hash', text: say('packet.hash', { hash: view.sha256 }) }));
}

/** @param {Packet} view */
const tray = (view) => [
  { label: say('packet.back'), href: link('handover.html', { job: job() }) },
  { label: say(onPhone() ? 'packet.share' : 'packet.file'), main: onPhone(), act: () => download(view.text, 'text/html', say('handover.file', { unit: job() }) + '.html') },
  // A web view cannot print: the app that the packet is shared with can.
  ...(onPhone() ? [] : [{ label: say('packet.print'), main: true, act: () => print() }]),
];

await words();
start({ title: say('packet.title'), load: (/** @type {string} */ id) => askFor('packet', { kind: 'packet', job: id, form: 'html', prices: param('prices') !== 'no' }), draw, tray });
