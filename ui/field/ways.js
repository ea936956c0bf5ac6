/**
 * Ways to fix: the whole job at once on top; below it for one group of marks at a time the ways that fit the
 * rules, the best marked, and those that do not fit shut, with why. One is picked and used; where the program figures nothing, hours and material are
 * entered by hand and labelled so.
 */
import { ask, askFor } from '../parts/ask.js';
import { bayWords } from '../parts/crew.js';
import { draft, keepDraft, withDrafts } from '../parts/drafts.js';
import { textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, param, redraw, run, start } from '../parts/page.js';
import { savedPart, takeAct, wholePart } from '../parts/whole.js';
import { money, say, words } from '../parts/words.js';
import { lacksList, link } from '../parts/work.js';

/** @typedef {import('../parts/types/Choice.ts').Choice} Choice */
/** @typedef {import('../parts/types/Way.ts').Way} Way */
/** @typedef {import('../parts/types/ByHand.ts').ByHand} ByHand */
/** @typedef {import('../parts/ask.js').Of<'ways'>} Ways */

const BY_HAND = 'by_hand';
/** Way picked but not yet used, by group. @type {Map<string, string>} */
const picked = new Map();

/** A place that still needs a way; old damage does not, it is left as it is. @param {Ways} view @param {Choice} choice */
const isOpen = (view, choice) => !chosenOf(view, choice) && view.lacks.some((lack) => lack.startsWith(choice.title));
/** @param {Ways} view */
const shown = (view) => view.choices.find((choice) => choice.group === param('group')) ?? view.choices.find((choice) => isOpen(view, choice)) ?? view.choices[0];
/** @param {Ways} view @param {Choice} choice */
const chosenOf = (view, choice) => view.chosen.find((one) => one.group === choice.group);
/** @param {Ways} view @param {Choice} choice */
const pickOf = (view, choice) => picked.get(choice.group) ?? chosenOf(view, choice)?.way.way ?? (takesWhole(view) ? null : bestOf(choice));
/** @param {Choice} choice */
const bestOf = (choice) => choice.ways.find((way) => way.best && way.fits)?.key ?? choice.ways.find((way) => way.fits)?.key ?? null;

/** What is being entered by hand, kept on this phone until it is used. @param {Choice} choice */
const draftKey = (choice) => `way/${choice.group}`;
/** @param {Ways} view @param {Choice} choice @returns {ByHand} */
function byHand(view, choice) {
  const kept = draft(draftKey(choice));
  return chosenOf(view, choice)?.way.by_hand ?? (kept ? JSON.parse(kept) : { hours: '', people: 1, lines: [], note: '' });
}

/** @param {Choice} choice @param {string | null} way @param {ByHand | null} hand */
async function choose(choice, way, hand) {
  await ask({ kind: 'choose_way', job: job(), group: choice.group, way, by_hand: hand });
  picked.delete(choice.group);
  await keepDraft(draftKey(choice), '');
}

/** Chosen in the tray, the next group comes up at its beginning. @param {Choice} choice @param {string} way @param {ByHand | null} hand */
async function use(choice, way, hand) {
  await choose(choice, way, hand);
  return param('group') ? null : () => scrollTo(0, 0);
}

/** What is found while the unit is open is chosen for itself: the rest is being done already. @param {Ways} view */
const ofAll = (view) => !param('found') && !['in_the_bay', 'proved', 'handed_over'].includes(view.head.stage) && view.choices.length > 1 && view.whole.cheapest !== null;

/** Nothing is chosen yet: then the whole job stands first. @param {Ways} view */
const wholeFirst = (view) => ofAll(view) && !param('group') && !view.chosen.length;
/** Nor picked for a place: then taking the whole job's ways is the main act. @param {Ways} view */
const takesWhole = (view) => wholeFirst(view) && !picked.size;

/** @param {Ways} view @param {Choice} choice */
function handForm(view, choice) {
  const now = byHand(view, choice);
  const used = chosenOf(view, choice)?.way.way === BY_HAND;
  /** @param {Partial<ByHand>} change */
  const keep = async (change) => {
    Object.assign(now, change);
    if (used) await choose(choice, BY_HAND, now);
    else await keepDraft(draftKey(choice), JSON.stringify(now));
  };
  /** @param {number} at @param {'item' | 'quantity' | 'unit_price'} field @param {string} text */
  const line = (at, field, text) => keep({ lines: now.lines.map((one, index) => (index === at ? { ...one, [field]: text } : one)) });
  const box = (/** @type {string} */ key, /** @type {string} */ word, /** @type {string} */ value, /** @type {(text: string) => Promise<unknown>} */ save, inputmode = 'text', hint = '') =>
    textField({ key: `hand/${key}`, label: say('ways.' + word), value, hint, inputmode, quiet: !used, save });
  return make('section', { class: 'by-hand', key: 'by-hand', attrs: { 'aria-label': say('ways.by_hand') } },
    make('h2', { class: 'lesser', text: say('ways.by_hand') }), make('p', { text: say('ways.by_hand_words') }),
    make('div', { class: 'three', key: 'hand/three' },
      box('hours', 'by_hand_hours', now.hours, (hours) => keep({ hours }), 'decimal', say('ways.by_hand_hours_hint')),
      box('people', 'by_hand_people', String(now.people), (people) => keep({ people: Number.parseInt(people, 10) || 1 }), 'numeric')),
    ...now.lines.map((one, at) => make('fieldset', { key: `hand/line/${at}` }, make('legend', { text: say('ways.line', { number: at + 1 }) }),
      box(`item/${at}`, 'line_item', one.item, (text) => line(at, 'item', text)),
      make('div', { class: 'three', key: `hand/three/${at}` },
        box(`quantity/${at}`, 'line_quantity', one.quantity, (text) => line(at, 'quantity', text), 'decimal'),
        box(`price/${at}`, 'line_price', one.unit_price, (text) => line(at, 'unit_price', text), 'decimal', say('ways.line_price_hint'))),
      make('button', { key: `hand/remove/${at}`, text: say('ways.line_remove', { number: at + 1 }), attrs: { type: 'button' }, on: { click: () => run(() => keep({ lines: now.lines.filter((_, index) => index !== at) })) } }))),
    make('button', { key: 'hand/add', text: say('ways.line_add'), attrs: { type: 'button' }, on: { click: () => run(() => keep({ lines: [...now.lines, { item: '', quantity: '1', unit_price: '' }] })) } }),
    box('note', 'by_hand_note', now.note, (note) => keep({ note })),
    used ? null : make('p', { class: 'quiet', text: say('ways.goes_with') }));
}

/** @param {Ways} view @param {Choice} choice @param {Way} way */
function wayCard(view, choice, way) {
  const is = pickOf(view, choice) === way.key;
  const chosen = chosenOf(view, choice)?.way.way === way.key;
  const facts = [
    way.hours ? say('ways.hours', { hours: way.hours }) : '', way.in_bay ? bayWords(way.in_bay) : '',
  ].filter(Boolean).join(' · ');
  const inside = [
    make('span', { class: 'way-head' },
      way.fits ? make('input', { key: 'way/' + way.key, attrs: { type: 'radio', name: 'way', value: way.key, checked: is, 'aria-label': [way.title, money(way.price)].filter(Boolean).join(' · '), 'aria-describedby': 'why-' + way.key }, on: { change: () => { picked.set(choice.group, way.key); redraw(); } } }) : null,
      make('b', { text: way.title }), way.price && way.fits ? make('span', { class: 'money', text: money(way.price) }) : null),
    way.best && way.fits ? make('span', { class: 'label', text: say('ways.best') }) : null, chosen ? make('span', { class: 'label', text: say('ways.chosen') }) : null,
    way.fits ? null : make('p', null, make('b', { text: say('ways.fits_not') })),
    make('div', { attrs: { id: 'why-' + way.key } }, ...way.why.map((text) => make('p', { text }))),
    facts && way.fits ? make('p', { text: facts }) : null,
  ];
  return way.fits ? make('label', { class: is ? 'way picked' : 'way' }, ...inside) : make('div', { class: 'way shut' }, ...inside);
}

/** All groups, each with what is chosen for it. @param {Ways} view @param {Choice} here */
function groups(view, here) {
  if (view.choices.length < 2) return null;
  return make('nav', { class: 'around', attrs: { 'aria-label': say('ways.group') } }, make('h2', { class: 'lesser', text: say('ways.group') }), ...view.choices.map((choice) => {
    const chosen = chosenOf(view, choice);
    const words = chosen ? `${choice.ways.find((way) => way.key === chosen.way.way)?.title ?? chosen.way.way} · ${say('ways.chosen_by', { who: chosen.by })}` : say('ways.lacks');
    return make('a', { class: 'row', attrs: { href: link('ways.html', { job: job(), group: choice.group }), 'aria-current': choice === here ? 'true' : null } },
      make('span', { text: choice.title }), make('span', { class: 'quiet', text: words }));
  }));
}

/** @param {Ways} view @param {HTMLElement} body */
function draw(view, body) {
  const choice = shown(view);
  if (!choice) {
    body.append(make('p', { class: 'empty', text: say('ways.empty') }));
    return;
  }
  const real = choice.ways.filter((way) => way.key !== BY_HAND);
  const parts = [
    ofAll(view) ? wholePart(view.whole, wholeFirst(view)) : null,
    make('h2', { text: wholeFirst(view) ? say('ways.or_one', { title: choice.title }) : choice.title }),
    ...view.doubts.map((text) => make('p', { class: 'notice', text })),
    real.length ? make('p', { class: 'quiet', text: say('ways.looked_at', { n: real.length, fit: real.filter((way) => way.fits).length }) }) : null,
    view.choices.length > 1 ? make('p', { class: 'quiet', text: say('ways.alone') }) : null,
    ...[...choice.ways].sort((a, b) => Number(b.fits) - Number(a.fits)).map((way) => wayCard(view, choice, way)),
    choice.look_at.length ? make('p', { text: say('ways.look_at', { parts: choice.look_at.join(', ') }) }) : null,
    pickOf(view, choice) === BY_HAND ? handForm(view, choice) : null,
    groups(view, choice),
    view.whole.now ? savedPart(view.whole.now, 'now') : null,
    view.lacks.length && view.choices.length < 2 && !chosenOf(view, choice) ? lacksList(say('ways.lacks'), view.lacks) : null,
  ];
  for (const part of parts) if (part) body.append(part);
}

/** @param {Ways} view */
function tray(view) {
  const choice = shown(view);
  if (!choice) return [{ label: say('ways.to_fold_out'), main: true, href: link('fold_out.html', { job: job() }) }];
  const found = param('found');
  if (takesWhole(view) && view.whole.cheapest) return [{ label: say('ways.figures'), href: link('figures.html', { job: job() }) }, takeAct(view.whole.cheapest)];
  const figures = found ? { label: say('mark.to_found'), href: link('found_more.html', { job: job(), found }) } : { label: say('ways.figures'), href: link('figures.html', { job: job() }) };
  const pick = pickOf(view, choice);
  const chosen = chosenOf(view, choice)?.way.way;
  if (pick && pick !== chosen) return [figures, { label: say('ways.use'), main: true, act: () => use(choice, pick, pick === BY_HAND ? byHand(view, choice) : null) }];
  const next = view.choices.find((one) => isOpen(view, one));
  const take = { label: say('ways.use_not'), act: () => choose(choice, null, null) };
  if (next && next !== choice && !found) return [...(chosen ? [take] : []), { label: say('ways.next', { title: next.title }), main: true, act: () => show(next) }];
  return chosen ? [take, { ...figures, main: true }] : [figures];
}

/** @param {Choice} choice */
async function show(choice) {
  history.replaceState(null, '', link('ways.html', { job: job(), group: choice.group }));
  return () => scrollTo(0, 0);
}

await words();
start({ title: 'ways.title', load: withDrafts((id) => askFor('ways', { kind: 'ways', job: id })), draw, tray });
