/** Two values of one thing, where the thing stands: who entered what, and one tap that says which is right. */
import { ask, atOffice } from './ask.js';
import { make } from './make.js';
import { run } from './page.js';
import { say } from './words.js';

/** @typedef {import('./types/ClashRow.ts').ClashRow} ClashRow */
/** @typedef {import('./types/Head.ts').Head} Head */

/** The clash of a thing, if there is one. @param {Head} head @param {string} register as the core names it */
export const clashOf = (head, register) => head.to_settle.find((one) => one.register === register);

/** A part of a register's name, as the core writes it. @param {string} text */
export const part = (text) => text.replaceAll('~', '~0').replaceAll('/', '~1');

/** The screen on which a thing stands and its clash with it; nothing where it has no place of its own. @param {Head} head @param {string} register */
function placeOf(head, register) {
  const [kind, id, what] = register.split('/');
  const query = `job=${head.job}`;
  if (atOffice()) return '';
  if (kind === 'arrival') return `arrival.html?${query}`;
  if (kind === 'mark') return `mark.html?${query}&mark=${id}`;
  if (kind === 'step' && what === 'measured') return `steps.html?${new URLSearchParams({ job: head.job, step: (id ?? '').replaceAll('~1', '/').replaceAll('~0', '~') })}`;
  return '';
}

/** At the head of every screen: settled where the thing stands, or here if it stands nowhere. @param {Head} head @param {string} text */
export function clashBanner(head, text) {
  const clash = head.to_settle.find((one) => one.words === text);
  if (!clash) return make('p', { class: 'banner', text });
  const place = placeOf(head, clash.register);
  if (!place) return clashPart(head, clash);
  return make('p', { class: 'banner' }, text + ' ', make('a', { text: say('clash.look'), attrs: { href: place } }));
}

/** Both values with their buttons; nothing without a clash. @param {Head} head @param {ClashRow | undefined} clash */
export function clashPart(head, clash) {
  if (!clash) return null;
  const keep = (/** @type {string} */ right, /** @type {string} */ other) => () => run(() => ask({ kind: 'settle', job: head.job, keep: right, instead_of: other }));
  return make('div', { class: 'banner clash', key: 'clash/' + clash.register, attrs: { role: 'group', 'aria-label': clash.words } },
    make('p', { text: clash.words }),
    make('div', { class: 'buttons' },
      make('button', { key: 'clash-holds/' + clash.register, attrs: { type: 'button' }, text: say('clash.keep', { what: clash.holds_words }), on: { click: keep(clash.holds, clash.lost) } }),
      make('button', { key: 'clash-lost/' + clash.register, attrs: { type: 'button' }, text: say('clash.take', { what: clash.lost_words }), on: { click: keep(clash.lost, clash.holds) } })));
}
