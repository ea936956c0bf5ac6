/**
 * One job for the office. What waits for an answer comes first: a found more with one act, then the figures as
 * they were asked, with what changed; below them photos, marks on the fold-out, figures with working, arrival.
 */
import { Refused, ask, askFor } from '../parts/ask.js';
import { estimateView } from '../parts/estimate.js';
import { unpriced } from '../parts/whole.js';
import { drawFoldOut } from '../parts/fold_out.js';
import { make, newId } from '../parts/make.js';
import { packetPart } from '../parts/packet.js';
import { hello, redraw, run, start, tell } from '../parts/page.js';
import { photoStrip } from '../parts/photos.js';
import { historyPart, papersPart, releasePart, subletPart, waitsPart } from '../parts/office_job.js';
import { notesPart } from '../parts/notes.js';
import { crewPart } from '../parts/crew.js';
import { retirePart } from '../parts/retire.js';
import { versionsPart } from '../parts/versions.js';
import { day, money, say, when, wordOf, words } from '../parts/words.js';
import { changedList, goAheadBox, link } from '../parts/work.js';

/** @typedef {import('../parts/ask.js').Of<'office_job'>} OfficeJob */
/** @typedef {import('../parts/types/FoundMore.ts').FoundMore} FoundMore */

/** What was typed for an answer, until it is given: `amount`, `ceiling`, `note`, `found/ID`. @type {Map<string, string>} */
const typed = new Map();
/** How far the go-ahead goes, whether up to a ceiling, for a part of which groups, and what that comes to. */
const answer = { how: 'all', ceiling: false, groups: /** @type {Set<string>} */ (new Set()), sum: /** @type {import('../parts/ask.js').Of<'part_sum'> | null} */ (null) };

/** A plain box for an answer. @param {string} key @param {string} label @param {string} value @param {boolean} [long] */
function box(key, label, value, long) {
  const id = newId('box');
  const put = (/** @type {Event} */ event) => typed.set(key, /** @type {HTMLInputElement} */ (event.target).value);
  const input = long ? make('textarea', { key, text: typed.get(key) ?? value, attrs: { id, rows: 2 }, on: { input: put } })
    : make('input', { key, attrs: { id, value: typed.get(key) ?? value, inputmode: 'decimal', autocomplete: 'off' }, on: { input: put } });
  return make('div', { class: 'plain-field' }, make('label', { text: label, attrs: { for: id } }), input);
}

/** @param {OfficeJob} view @param {string} hash @param {string} noteKey @param {string | null} amount */
async function go(view, hash, noteKey, amount) {
  const main = noteKey === 'note';
  const groups = main && answer.how === 'part' ? [...answer.groups] : [];
  if (main && answer.how === 'part' && !groups.length) throw new Refused({ code: 'needs_part', sentence: say('office.needs_part'), field: 'groups' });
  const ceiling = main && answer.ceiling ? typed.get('ceiling') ?? null : null;
  if (main && answer.ceiling && !ceiling?.trim()) throw new Refused({ code: 'needs_ceiling', sentence: say('office.needs_ceiling'), field: 'ceiling' });
  await ask({ kind: 'go_ahead', job: view.head.job, hash, amount: (answer.how === 'all' && !answer.ceiling) || !main ? amount : null, note: typed.get(noteKey) ?? '', groups, ceiling });
  answered('office.gave');
}

/** Forgets what was typed and picked, and says what went out. @param {string} word */
function answered(word) {
  typed.clear();
  answer.groups.clear();
  answer.sum = null;
  answer.how = 'all';
  answer.ceiling = false;
  tell(say(word));
}

/** A group is in the part, or not; what that comes to is worked out before anything is given. @param {string} job @param {string} hash @param {string} group @param {boolean} on */
async function pickGroup(job, hash, group, on) {
  answer.groups[on ? 'add' : 'delete'](group);
  answer.sum = answer.groups.size ? await askFor('part_sum', { kind: 'part_sum', job, hash, groups: [...answer.groups] }) : null;
}

/** @param {OfficeJob} view @param {string} hash @param {string} noteKey */
async function sendBack(view, hash, noteKey) {
  const note = (typed.get(noteKey) ?? '').trim();
  if (!note) {
    /** @type {HTMLElement | null} */ (document.querySelector(`[data-key="${noteKey}"]`))?.focus();
    throw new Refused({ code: 'needs_note', sentence: say('office.needs_note'), field: 'note' });
  }
  await ask({ kind: 'send_back', job: view.head.job, hash, note });
  answered('office.went_back');
}

/** An act on the page. @param {string} label @param {string} look @param {() => Promise<void>} act */
const act = (label, look, act) => make('button', { class: look, attrs: { type: 'button' }, text: label, on: { click: () => run(act) } });

/** @param {OfficeJob} view @param {FoundMore} found */
function foundPart(view, found) {
  const hash = found.row.asked_hash;
  const key = 'found/' + found.row.id;
  const waits = hash && found.row.go_ahead.state === 'asked';
  return make('section', { class: 'found', attrs: { 'aria-label': found.row.line } },
    make('h2', { class: 'lesser', text: found.row.line }),
    make('p', { class: 'quiet', text: say('work.by_at', { who: found.row.by, when: when(found.row.at) }) }),
    photoStrip({ photos: found.photos, of: { of: 'found', id: found.row.id }, when: 'during' }),
    ...found.marks.map((mark) => make('p', { text: [say('damage.' + mark.kind), mark.where_, mark.size, say('age.' + mark.age), mark.hits_words].filter(Boolean).join(' · ') })),
    found.row.added ? make('p', { class: 'money', text: say('work.adds', { amount: money(found.row.added) }) }) : null,
    found.row.with_it ? make('p', { text: say('office.with_it', { amount: money(found.row.with_it) }) }) : null,
    found.changed.length ? changedList(found.changed) : null,
    found.added ? make('details', { key: key + '/added' }, make('summary', { text: say('office.added_figures') }), estimateView(found.added)) : null,
    waits ? saidWith(found.row.go_ahead) : goAheadBox(found.row.go_ahead),
    waits ? box(key, say('office.note'), '', true) : null,
    waits ? make('div', { class: 'buttons' },
      act(say('office.send_back'), 'button', () => sendBack(view, hash, key)),
      act(say('office.go_found', { amount: money(found.row.added) }), 'button main', () => go(view, hash, key, null))) : null);
}

/** What was said with asking again. @param {import('../parts/types/GoAhead.ts').GoAhead} go */
const saidWith = (go) => (go.note ? make('p', { class: 'stand', text: say('office.answered', { note: go.note }) }) : null);

/** The figures that wait, with amount and note. @param {OfficeJob} view */
function askedPart(view) {
  const { go_ahead: stand } = view.figures;
  if (!view.asked || !waits(view)) return make('div', null, goAheadBox(stand), againPart(view));
  return make('section', { attrs: { 'aria-label': say('office.asked') } }, make('h2', { text: say('office.asked') }),
    view.asked_by ? make('p', { class: 'quiet', text: say('office.asked_by', { who: view.asked_by }) }) : null,
    saidWith(stand),
    stand.changed.length ? make('h2', { class: 'lesser', text: say('work.changed') }) : null, stand.changed.length ? changedList(stand.changed) : null,
    howPart(view, view.asked), box('note', say('office.note'), '', true));
}

/** Another answer to the same figures: the rest of them, another ceiling, or back after all. @param {OfficeJob} view */
function againPart(view) {
  const { asked, asked_hash: hash } = view;
  if (!asked || !hash || view.figures.go_ahead.state !== 'go_ahead' || view.released) return null;
  return make('details', { key: 'answer-again' }, make('summary', { text: say('office.answer_again') }), howPart(view, asked), box('note', say('office.note'), '', true),
    make('div', { class: 'buttons' }, act(say('office.send_back'), 'button', () => sendBack(view, hash, 'note')),
      act(goLabel(asked), 'button', () => go(view, hash, 'note', typed.get('amount')?.trim() || asked.total))));
}

/** Giving it, with the money that it is for where that is known before the tap. @param {OfficeJob['asked']} asked */
function goLabel(asked) {
  const amount = answer.how === 'part' ? answer.sum?.amount : answer.ceiling || !typed.get('amount')?.trim() ? asked?.total : null;
  return amount ? say('office.go_amount', { amount: money(amount) }) : say('office.go');
}

/** What the part comes to and what stays without. */
function sumPart() {
  const sum = answer.sum;
  return make('div', { class: 'stand', attrs: { role: 'status' } }, sum ? make('p', { class: 'total-row' }, make('span', { text: say('office.part_amount') }), make('span', { class: 'money', text: money(sum.amount) })) : make('p', { text: say('office.part_none') }),
    sum?.waits.length ? make('p', { text: say('office.part_left', { rest: money(sum.waits_amount), places: sum.waits.join(', ') }) }) : null);
}

/** For all of it or for a part, and for either up to a ceiling. @param {OfficeJob} view @param {NonNullable<OfficeJob['asked']>} asked */
function howPart(view, asked) {
  const ways = asked.groups.length > 1 ? ['all', 'part'] : ['all'];
  const upTo = make('label', { class: 'tick', key: 'how/ceiling' },
    make('input', { key: 'how/ceiling/box', attrs: { type: 'checkbox', checked: answer.ceiling }, on: { change: () => { answer.ceiling = !answer.ceiling; redraw(); } } }), make('span', { text: say('office.how_ceiling') }));
  const name = newId('how');
  const pick = (/** @type {string} */ way) => make('label', { class: 'tick', key: 'how/' + way },
    make('input', { key: `how/${way}/box`, attrs: { type: 'radio', name, value: way, checked: answer.how === way }, on: { change: () => { answer.how = way; redraw(); } } }), make('span', { text: say('office.how_' + way) }));
  const group = (/** @type {NonNullable<OfficeJob['asked']>['groups'][0]} */ one) => make('label', { class: 'tick', key: 'group/' + one.group },
    make('input', { key: `group/${one.group}/box`, attrs: { type: 'checkbox', checked: answer.groups.has(one.group) }, on: { change: (/** @type {Event} */ event) => run(() => pickGroup(view.head.job, view.asked_hash ?? '', one.group, /** @type {HTMLInputElement} */ (event.target).checked)) } }),
    make('span', { text: `${one.title}: ${one.way_title}` }), make('span', { class: 'money', text: money(one.amount) }));
  return make('fieldset', { key: 'how' }, make('legend', { text: say('office.how') }), make('div', { class: 'who' }, ...ways.map(pick)),
    unpriced(asked.groups.filter((one) => one.way === 'ask_the_maker').length),
    answer.how === 'part' ? make('p', { class: 'hint', text: say('office.part_hint') }) : null,
    answer.how === 'part' ? make('div', null, ...asked.groups.map(group)) : null,
    answer.how === 'part' ? sumPart() : null,
    make('div', { class: 'who' }, upTo),
    answer.ceiling ? box('ceiling', say('office.ceiling'), '') : answer.how === 'all' ? box('amount', say('office.amount'), asked.total) : null,
    answer.ceiling ? make('p', { class: 'hint', text: say('office.ceiling_hint') }) : null);
}

/** The other job that waits, to go on with it also where this one is left as it is. @param {OfficeJob} view */
function nextPart(view) {
  const { next } = view;
  if (!next) return waits(view) ? null : make('p', { class: 'quiet', text: say('office.next_none') });
  const why = say(next.asks_found ? 'office.asks_found' : next.roof_open ? 'office.asks_open' : 'office.asks');
  return make('a', { class: 'row', key: 'next', attrs: { href: link('job.html', { job: next.job }) } }, make('b', { text: say('office.next', { unit: next.unit }) }),
    make('span', { class: 'quiet', text: [why, next.asked_since ? say('office.asked_since', { when: when(next.asked_since) }) : ''].filter(Boolean).join(', ') }));
}

/** Main figures wait for an answer; stale ones too, as long as it is the asking, not an answer, that stands last. @param {OfficeJob} view */
const waits = (view) => view.asked_hash !== null && (view.figures.go_ahead.state === 'asked' || (view.figures.go_ahead.state === 'stale' && view.figures.go_ahead.by === view.asked_by));

/** A desk has room for two columns; the drawing then has the wider one. */
const desk = matchMedia('(min-width: 60rem)');
desk.addEventListener('change', () => redraw());
const sheetWidth = () => (desk.matches ? Math.floor((document.body.clientWidth - 56) * 0.62) : document.body.clientWidth - 24);

/** @param {OfficeJob} view */
function marksPart(view) {
  const sheets = [false, true].filter((inside) => !inside || view.fold_out.marks.some((mark) => mark.inside));
  return make('section', { attrs: { 'aria-label': say('office.marks_title') } }, make('h2', { text: say('office.marks_title') }),
    ...sheets.map((inside) => make('div', { class: 'sheet' }, drawFoldOut({ view: view.fold_out, inside, zoom: 1, width: sheetWidth(), unit: hello().unit }))),
    make('ul', { class: 'marks' }, ...view.fold_out.marks.map((mark) => make('li', {},
      make('b', { text: `${say('damage.' + mark.kind)} · ${say('part.' + mark.part)}` }), ` ${mark.where_} · ${mark.size} · ${say('age.' + mark.age)}`, mark.hits_words ? ` · ${mark.hits_words}` : '', mark.note ? ` · ${mark.note}` : ''))));
}

/** Why it may roll, or not, beside the damage that it was said of. @param {OfficeJob} view */
function rollPart(view) {
  const { roll } = view.head;
  if (!roll) return null;
  const said = [say('roll.' + roll.answer), roll.reason, roll.fix, roll.speed, roll.distance, roll.weather].filter(Boolean).join(' · ');
  return make('p', { key: 'roll' }, make('b', { text: say('roll.title') }), ` ${said}`, view.arrival.roll_by ? make('span', { class: 'quiet', text: ` ${say('work.by', { who: view.arrival.roll_by })}` }) : null);
}

/** What changed since the last look, the newest few at once. @param {OfficeJob} view */
function sincePart(view) {
  if (!view.lines_since.length) return null;
  const item = (/** @type {string} */ text) => make('li', { text });
  const [first, rest] = [view.lines_since.slice(0, 5), view.lines_since.slice(5)];
  return make('section', null, make('h2', { text: say('office.since') }), make('ul', null, ...first.map(item)),
    rest.length ? make('details', { key: 'since' }, make('summary', { text: say('office.since_more', { n: rest.length }) }), make('ul', null, ...rest.map(item))) : null,
    act(say('office.looked'), 'button', async () => { await ask({ kind: 'looked', job: view.head.job, newest: Number(view.newest) }); }));
}

/** @param {OfficeJob} view */
function arrivalPart(view) {
  const fields = view.arrival.fields.filter((field) => field.value);
  return make('details', { key: 'arrival' }, make('summary', { text: say('office.arrival') }),
    ...fields.map((field) => make('div', { class: 'book-row' }, make('span', { text: say('arrival.' + field.field) }),
      make('b', { text: /^\d{4}-\d\d-\d\d$/.test(field.value) ? day(field.value) : wordOf('load', field.value) }), field.by ? make('span', { class: 'quiet', text: say('work.by', { who: field.by }) }) : null)));
}

/** @param {OfficeJob} view @param {HTMLElement} body */
function draw(view, body) {
  const asking = view.found.filter((found) => found.row.go_ahead.state === 'asked');
  const answered = view.found.filter((found) => found.row.go_ahead.state !== 'asked');
  // Once given, what is given: under a ceiling that may be other figures than were asked.
  const given = view.figures.go_ahead.state === 'go_ahead';
  const estimate = given ? view.figures.estimate : view.asked ?? view.figures.estimate;
  const [front, side] = [make('div', { class: 'front' }), make('div', { class: 'side' })];
  const news = [sincePart(view), waitsPart(view), notesPart(view.head.job, view.notes)];
  const answers = [
    asking.length ? make('h2', { text: say('office.found_waits') }) : null, ...asking.map((found) => foundPart(view, found)),
    askedPart(view), nextPart(view)];
  const evidence = [
    make('section', { attrs: { 'aria-label': say('office.photos_title') } }, make('h2', { text: say('office.photos_title') }), view.photos.length ? photoStrip({ photos: view.photos, of: { of: 'unit' }, when: 'before' }) : make('p', { text: say('office.no_photos') })),
    rollPart(view), marksPart(view),
    make('h2', { text: say('figures.title') }), estimate ? estimateView(estimate, view.figures.given) : make('p', { text: say('office.no_figures') }),
    view.figures.agreed_total ? make('p', { class: 'total-row' }, make('span', { text: say('figures.agreed') }), make('span', { class: 'money', text: money(view.figures.agreed_total) })) : null,
    view.figures.estimate ? crewPart(view.head.job) : null, retirePart(view.figures), versionsPart(view.figures),
    ...answered.map((found) => foundPart(view, found)),
    packetPart({ job: view.head.job, lacks: 0 }),
    arrivalPart(view),
  ];
  const papers = [papersPart(view), subletPart(view), releasePart(view), historyPart(view)];
  // On a phone the news stand between the answers and what they rest on.
  for (const part of desk.matches ? [...answers, ...evidence] : [...answers, ...news, ...evidence]) if (part) front.append(part);
  for (const part of desk.matches ? [...news, ...papers] : papers) if (part) side.append(part);
  body.append(make('div', { class: 'two' }, front, side));
}

/** @param {OfficeJob} view */
function tray(view) {
  const list = { label: say('office.title'), href: 'list.html' };
  const hash = view.asked_hash;
  const here = view.found.some((found) => found.row.go_ahead.state === 'asked');
  const next = view.next ? [{ label: say('office.next', { unit: view.next.unit }), main: !here, href: link('job.html', { job: view.next.job }) }] : [];
  if (!hash || !waits(view)) return [list, ...next];
  const amount = () => typed.get('amount')?.trim() || view.asked?.total || null;
  return [list, { label: say('office.send_back'), act: () => sendBack(view, hash, 'note') }, { label: goLabel(view.asked), main: true, key: 'go', act: () => go(view, hash, 'note', amount()) }];
}

await words();
start({ title: say('office.job'), load: (/** @type {string} */ id) => askFor('office_job', { kind: 'office_job', job: id }), draw, tray });
