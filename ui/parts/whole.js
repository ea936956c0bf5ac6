/** Ways for the whole job at once: the cheapest and the soonest out of the bay, with what they share and what others would cost. */
import { ask } from './ask.js';
import { make } from './make.js';
import { job, run } from './page.js';
import { money, say } from './words.js';

/** @typedef {import('./types/WholeJob.ts').WholeJob} WholeJob */
/** @typedef {import('./types/Proposal.ts').Proposal} Proposal */
/** @typedef {import('./types/Reason.ts').Reason} Reason */

/** A sentence with its money; `sign` says that more is dearer. @param {Reason} reason @param {boolean} sign */
function reasonRow(reason, sign) {
  const amount = Number(reason.amount ?? 0);
  const words = reason.amount === null ? '' : say(amount < 0 ? 'whole.less' : sign ? 'whole.more' : 'whole.saves', { amount: money(reason.amount.replace('-', '')) });
  const turned = !sign && amount < 0 ? say('whole.more', { amount: money((reason.amount ?? '').replace('-', '')) }) : words;
  return make('li', null, reason.words, turned ? make('b', { text: ` ${turned}` }) : null);
}

/** Why the single ways come to more than the job. @param {Proposal} of @param {string} key */
export function savedPart(of, key) {
  if (of.ways.length < 2) return null;
  return make('details', { key: 'saved/' + key },
    make('summary', null, make('span', { text: say('whole.singles', { singles: money(of.singles), price: money(of.price) }) })),
    make('ul', { class: 'listed' }, ...of.shared.map((reason) => reasonRow(reason, false))));
}

/** Said wherever there is a total without what waits for the maker. @param {number} count */
export const unpriced = (count) => (count > 0 ? make('p', { class: 'doubt', text: say(count === 1 ? 'whole.unpriced_one' : 'whole.unpriced', { n: count }) }) : null);

/** @param {Proposal} of */
const take = (of) => ask({ kind: 'choose_ways', job: job(), ways: of.ways.map(({ group, way }) => ({ group, way })) });

/** Taking it as the main act of the screen. @param {Proposal} of */
export const takeAct = (of) => ({ label: say('whole.take_for', { n: of.ways.length, price: money(of.price) }), main: true, act: async () => { await take(of); return () => scrollTo(0, 0); } });

/** @param {WholeJob} whole @param {Proposal} of @param {string} name */
function card(whole, of, name) {
  const taken = whole.now && of.ways.every((way) => whole.now?.ways.some((one) => one.group === way.group && one.way === way.way));
  return make('section', { class: taken ? 'way picked' : 'way', key: 'whole/' + name, attrs: { 'aria-label': say('whole.' + name) } },
    make('div', { class: 'way-head' }, make('b', { text: say('whole.' + name) }), make('span', { class: 'money', text: money(of.price) })),
    taken ? make('span', { class: 'label', text: say('ways.chosen') }) : null,
    unpriced(of.ways.filter((way) => way.way === 'ask_the_maker').length),
    make('ul', { class: 'listed' }, ...of.ways.map((way) => make('li', null, `${way.title}: `, make('b', { text: way.way_title })))),
    make('p', { text: say('whole.hours', { hours: of.hours, bay: of.bay_hours }) }),
    savedPart(of, name),
    of.others.length ? make('details', { key: 'others/' + name }, make('summary', { text: say('whole.others') }), make('ul', { class: 'listed' }, ...of.others.map((reason) => reasonRow(reason, true)))) : null,
    taken ? null : make('button', { key: 'take/' + name, class: 'button', text: say('whole.take', { n: of.ways.length }), attrs: { type: 'button' }, on: { click: () => run(() => take(of)) } }));
}

/**
 * The whole job's part of Ways to fix. Decided on first, it stands open; once ways are chosen it is folded away.
 * @param {WholeJob} whole @param {boolean} first
 */
export function wholePart(whole, first) {
  if (!whole.cheapest) return null;
  const both = whole.fastest ? [card(whole, whole.cheapest, 'cheapest'), card(whole, whole.fastest, 'fastest')] : [card(whole, whole.cheapest, 'cheapest_fastest')];
  const inside = [make('p', { class: 'quiet', text: say('whole.priced', { priced: whole.priced, of: whole.of }) }),
    ...both,
    whole.left_out.length ? make('ul', { class: 'listed' }, ...whole.left_out.map((text) => make('li', { text }))) : null];
  if (!first) return make('details', { class: 'whole', key: 'whole' }, make('summary', null, make('span', { text: say('whole.title') }), whole.now ? make('b', { class: 'money', text: money(whole.now.price) }) : null), ...inside);
  return make('section', { class: 'whole', key: 'whole-first', attrs: { 'aria-label': say('whole.title') } }, make('h2', { text: say('whole.title') }), ...inside);
}
