/**
 * Arrival: what is known of the unit. Only the unit number is demanded; load, slot and *May it roll?* come first,
 * because they are asked at the trailer, the papers last. Without a job in the address it asks for the number.
 */
import { ask, askFor } from '../parts/ask.js';
import { choice, dateField, textField } from '../parts/fields.js';
import { clashOf, clashPart } from '../parts/clash.js';
import { make } from '../parts/make.js';
import { job, me, run, start } from '../parts/page.js';
import { barcode, onPhone, position } from '../parts/phone.js';
import { photoStrip } from '../parts/photos.js';
import { draft, keepDraft, withDrafts } from '../parts/drafts.js';
import { knows, say, when, wordOf } from '../parts/words.js';

/** @typedef {import('../parts/types/Arrival.ts').Arrival} Arrival */
/** @typedef {import('../parts/types/ArrivalField.ts').ArrivalField} ArrivalField */
/** @typedef {import('../parts/types/Roll.ts').Roll} Roll */
/** @typedef {import('../parts/types/HoldWhy.ts').HoldWhy} HoldWhy */

/** An answer to *May it roll?* that is being written: kept until all that it needs is there. @type {Roll | null} */
let written = null;
let number = '';
/** @type {ArrivalField[]} */
const DAYS = ['built', 'inspected', 'found_at'];

/** @param {Arrival} view @param {ArrivalField} name @param {{lines?: number}} [more] */
function field(view, name, more = {}) {
  const it = view.fields.find((f) => f.field === name);
  const save = (/** @type {string} */ value) => ask({ kind: 'set_arrival', job: job(), field: name, value });
  // A seal that is open is left whole no more.
  const open = name === 'seal' && view.fields.find((f) => f.field === 'load')?.value !== 'sealed';
  const hint = knows(`arrival.${name}_hint`) && !open ? say(`arrival.${name}_hint`) : '';
  const shared = { key: `arrival-${name}`, label: say(`arrival.${name}`), value: it?.value ?? '', by: it?.by ?? null, save };
  const few = it && it.choices.length > 0 && it.choices.length <= 6;
  const box = few ? choice({ ...shared, hint, doubt: it.remark, options: it.choices.map((value) => ({ value, label: wordOf(`arrival.${name}`, value) })) })
    : (DAYS.includes(name) ? dateField : textField)({ ...shared, hint, doubt: it?.remark ?? null, suggest: it?.choices ?? [], ...more });
  const clash = clashPart(view.head, clashOf(view.head, `arrival/${name}`));
  if (clash) box.append(clash);
  return box;
}

/** An answer in one tap for a field that is still empty. @param {Arrival} view @param {ArrivalField} name @param {string} value @param {string} label */
function quick(view, name, value, label) {
  if (view.fields.find((f) => f.field === name)?.value) return null;
  return make('button', { key: `quick-${name}`, text: label, attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'set_arrival', job: job(), field: name, value })) } });
}

/** What the phone itself can put into a field that is still empty; asked of it by this press alone. @param {Arrival} view @param {ArrivalField} name @param {() => Promise<string>} read */
function byPhone(view, name, read) {
  if (!onPhone() || view.fields.find((f) => f.field === name)?.value) return null;
  return make('button', { key: `phone-${name}`, text: say(`arrival.${name}_by_phone`), attrs: { type: 'button' }, on: { click: () => run(async () => {
    const value = await read();
    if (value) await ask({ kind: 'set_arrival', job: job(), field: name, value });
  }) } });
}

/** This minute on this phone, as the field takes it. */
function now() {
  const at = new Date();
  const two = (/** @type {number[]} */ ...parts) => parts.map((n) => String(n).padStart(2, '0'));
  return `${two(at.getFullYear(), at.getMonth() + 1, at.getDate()).join('-')} ${two(at.getHours(), at.getMinutes()).join(':')}`;
}

/** What an answer asks for in words. @param {Arrival} view @param {Roll['answer'] | undefined} answer @returns {('reason' | 'fix' | 'speed' | 'distance' | 'weather')[]} */
const asked = (view, answer) => (answer === 'with_limits' ? ['reason', 'fix', 'speed', 'distance', 'weather'] : answer === 'may_roll' && view.reason_needed ? ['reason'] : []);

/** @param {Arrival} view */
function roll(view) {
  const now = view.head.roll;
  const given = written ?? now;
  const answer = (/** @type {Roll | null} */ answer) => ask({ kind: 'set_roll', job: job(), answer });
  const options = [{ value: 'park_it', label: say('roll.park_it'), hint: say('roll.park_hint') },
    ...(view.limits_refused ? [] : [{ value: 'with_limits', label: say('roll.with_limits'), hint: say('roll.limits_hint') }]),
    { value: 'may_roll', label: say('roll.may_roll'), hint: view.reason_needed ? say('roll.fit_hint') : '' }];
  const needed = asked(view, given?.answer);
  const open = given && needed.length > 0 && (written || !given.reason.trim());
  const parts = [
    choice({
      key: 'roll', label: say('roll.title'), columns: false, options, value: given?.answer ?? null, hint: view.roll_by ? say('roll.answered', { by: view.roll_by, at: view.roll_at ? when(view.roll_at) : '', who: me() }) : say('roll.who', { who: me() }),
      save: async (value) => {
        const chosen = /** @type {Roll['answer']} */ (value);
        // Why it was parked is no reason for letting it roll.
        const same = chosen === 'with_limits' || now?.answer === chosen ? now : null;
        const next = { answer: chosen, reason: same?.reason ?? '', fix: same?.fix ?? '', speed: same?.speed ?? '', distance: same?.distance ?? '', weather: same?.weather ?? '' };
        await answerOnceFull(view, next);
      },
    }),
    // The words that are asked for below say the same of what is marked.
    view.limits_refused && !open ? make('p', { key: 'limits-refused', text: view.limits_refused }) : null,
  ];
  if (given && needed.length > 0) {
    if (open) parts.push(make('p', { class: 'note', key: 'roll-open', text: given.answer === 'may_roll' ? view.reason_needed ?? '' : say('roll.limits_open') }));
    for (const name of needed) {
      parts.push(textField({
        key: `roll-${name}`, label: say(given.answer === 'may_roll' ? 'roll.fit' : `roll.${name}`), value: given[name],
        save: (text) => answerOnceFull(view, { ...given, ...written, [name]: text }),
      }));
    }
  } else if (now) {
    parts.push(textField({ key: 'roll-reason', label: say('roll.reason_optional'), value: now.reason, save: (text) => answer({ ...now, reason: text }) }));
  }
  if (now) parts.push(make('button', { key: 'roll-away', text: say('roll.take_away'), attrs: { type: 'button' }, on: { click: () => run(async () => { await keepWritten(null); await answer(null); }) } }));
  parts.push(make('p', { class: 'note', key: 'roll-note', text: say('roll.note') }));
  return parts;
}

/** Answers as soon as nothing lacks; until then what is written is a draft. @param {Arrival} view @param {Roll} given */
async function answerOnceFull(view, given) {
  const lacks = asked(view, given.answer).some((name) => given[name].trim() === '');
  await keepWritten(lacks ? given : null);
  if (!lacks) await ask({ kind: 'set_roll', job: job(), answer: given });
}

/** @param {Roll | null} given */
function keepWritten(given) {
  written = given;
  return keepDraft('limits', given ? JSON.stringify(given) : '');
}

/** @param {Arrival} view */
function hold(view) {
  const now = view.head.hold;
  const set = (/** @type {string} */ why, /** @type {string} */ note) => ask({ kind: 'set_hold', job: job(), hold: why === 'none' ? null : { why: /** @type {HoldWhy} */ (why), note } });
  const whys = ['parts', 'weather', 'people', 'answer'];
  return make('details', { key: 'hold' }, make('summary', null, make('span', { text: say('arrival.hold') }), make('b', { text: now ? wordOf('hold', now.why) : say('field.no') })),
    choice({ key: 'hold-why', label: say('arrival.hold_why'), value: now?.why ?? 'none', options: [{ value: 'none', label: say('arrival.hold_none') }, ...whys.map((why) => ({ value: why, label: say(`hold.${why}`) }))], save: (why) => set(why, now?.note ?? '') }),
    now ? textField({ key: 'hold-note', label: say('arrival.hold_note'), value: now.note, save: (note) => set(now.why, note) }) : null);
}

/** @param {string} title @param {string[]} lines */
const listed = (title, lines) => (lines.length === 0 ? [] : [make('h2', { text: title }), make('ul', { class: 'listed' }, lines.map((text) => make('li', { text })))]);

/** @param {Arrival} view @param {HTMLElement} body */
function draw(view, body) {
  const load = view.fields.find((f) => f.field === 'load')?.value;
  const seal = view.fields.find((f) => f.field === 'seal')?.value;
  const history = view.history.map((row) => make('li', null, make('a', { attrs: { href: `handover.html?job=${row.job}` } }, make('span', { class: 'what', text: `${wordOf('stage', row.stage)} · ${row.last ? when(row.last) : ''}` }))));
  const all = [
    make('h2', { text: say('arrival.looking') }),
    field(view, 'load'), load === 'sealed' || seal ? field(view, 'seal') : null, seal && load !== 'sealed' ? field(view, 'seal_opened') : null, field(view, 'slot'), byPhone(view, 'slot', position),
    ...roll(view),
    make('h2', { text: say('arrival.photos') }),
    photoStrip({ photos: view.photos, of: { of: 'unit' }, when: 'before', job: job(), wanted: view.wanted.length > 0 ? say('arrival.wanted', { what: view.wanted.join(', ') }) : null }),
    make('h2', { text: say('arrival.found') }),
    field(view, 'found_by'), quick(view, 'found_by', me(), say('arrival.by_me', { who: me() })),
    field(view, 'found_at'), quick(view, 'found_at', now(), say('arrival.now')),
    field(view, 'account', { lines: 3 }),
    field(view, 'placards'), quick(view, 'placards', say('arrival.none_seen'), say('arrival.none_seen_act')),
    field(view, 'wiring'), quick(view, 'wiring', say('arrival.none_seen'), say('arrival.none_seen_act')),
    make('h2', { text: say('arrival.papers') }),
    field(view, 'unit'), field(view, 'vin'), byPhone(view, 'vin', barcode), field(view, 'plate'), field(view, 'body_type'), field(view, 'built'), field(view, 'inspected'), field(view, 'order'), field(view, 'payer'), field(view, 'value'),
    ...listed(say('arrival.missing'), view.missing),
    hold(view),
    ...(history.length > 0 ? [make('h2', { text: say('arrival.history') }), make('ul', { class: 'rows' }, history)] : []),
  ];
  for (const part of all) if (part) body.append(part);
}

async function open() {
  const input = /** @type {HTMLInputElement | null} */ (document.querySelector('[data-key=unit-number] input'));
  const saved = await ask({ kind: 'open_job', unit: input?.value ?? number });
  if (saved.kind === 'saved' && saved.id) location.replace(`arrival.html?job=${saved.id}`);
}

if (job()) {
  start({
    title: 'arrival.title',
    load: withDrafts((id) => {
      written = JSON.parse(draft('limits') || 'null');
      return askFor('arrival', { kind: 'arrival', job: id });
    }),
    draw,
    tray: () => [{ label: say('arrival.next_unit'), href: 'arrival.html' }, { label: say('arrival.to_fold_out'), href: `fold_out.html?job=${job()}`, main: true }],
  });
} else {
  start({
    title: 'arrival.new',
    load: async () => ({}),
    draw: (_, body) => {
      body.append(textField({ key: 'unit-number', label: say('arrival.unit_ask'), hint: say('arrival.unit_ask_hint'), value: number, quiet: true, save: async (text) => { number = text; } }));
      body.querySelector('input')?.addEventListener('keydown', (event) => { if (event.key === 'Enter') run(open); });
    },
    tray: () => [{ label: say('screen.yard'), href: 'yard.html' }, { label: say('arrival.open'), act: open, main: true }],
  }).then(() => /** @type {HTMLElement | null} */ (document.querySelector('[data-key=unit-number] input'))?.focus());
}
