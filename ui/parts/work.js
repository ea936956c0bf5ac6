/** What the work screens of field and office draw alike: links, lists of what lacks, go-ahead, pairs, hold. */
import { ask } from './ask.js';
import { draft, keepDraft } from './drafts.js';
import { choice, textField } from './fields.js';
import { make } from './make.js';
import { job, tell } from './page.js';
import { onPhone, share } from './phone.js';
import { photoStrip } from './photos.js';
import { standingWord } from './working.js';
import { money, say, when } from './words.js';

/** @typedef {import('./types/Standing.ts').Standing} Standing */
/** @typedef {import('./types/Basis.ts').Basis} Basis */
/** @typedef {import('./types/GoAhead.ts').GoAhead} GoAhead */
/** @typedef {import('./types/Head.ts').Head} Head */
/** @typedef {import('./types/HoldWhy.ts').HoldWhy} HoldWhy */

/** A relative link with its query. @param {string} page @param {Record<string, string>} query */
export const link = (page, query) => `${page}?${new URLSearchParams(query)}`;

/** What comes first before there is a go-ahead, by the job's stage. @type {Record<string, string>} */
const BEFORE = { marked: 'ways', figured: 'figures', sent_back: 'figures' };

/** Where the job goes on: to its go-ahead, then to the Roof-off check where a roof comes off, else to the steps. @param {Head} head */
export function begin(head) {
  const screen = BEFORE[head.stage] ?? (head.opens_roof ? 'roof_off' : 'steps');
  return { label: say(screen + '.title'), href: link(screen + '.html', { job: head.job }) };
}

/** Where a value comes from, in the accent. @param {Standing} standing */
export const from = (standing) => make('i', { class: 'from', text: say('work.from', { standing: standingWord(standing) }) });

/** Working that opens. @param {string} label @param {Basis[]} basis @param {string} [key] */
export const workingOf = (label, basis, key) => make('details', { key: 'working/' + (key ?? label) }, make('summary', { text: label }),
  make('div', { class: 'working' }, ...basis.map((one) => make('p', null, make('b', { text: one.value }), ` ${one.what} `, from(one.standing)))));

/** What lacks; with `where` each leads to the screen that mends it. @param {string} title @param {string[]} lacks @param {string[]} [where] */
export const lacksList = (title, lacks, where) => make('section', { class: 'lacks' }, make('h2', { class: 'lesser', text: title }),
  make('ul', {}, ...lacks.map((text, at) => make('li', {}, where?.[at] ? make('a', { class: 'row', attrs: { href: screenHref(where[at] ?? '') } }, text) : text))));

/** `proof` or `found_more?found=ID` as a link within this job. @param {string} screen */
function screenHref(screen) {
  const [name, query] = screen.split('?');
  const all = new URLSearchParams(query ?? '');
  all.set('job', new URLSearchParams(location.search).get('job') ?? '');
  return `${name}.html?${all}`;
}

/** @typedef {import('./types/Changed.ts').Changed} Changed */
/** @typedef {import('./types/ChangedPart.ts').ChangedPart} ChangedPart */

/** Kinds of change, those that say why before those that follow from them. @type {ChangedPart[]} */
const CHANGED = ['sum', 'way', 'measure', 'shop', 'rules', 'line', 'material', 'hours'];
/** Kinds that follow from the others. @type {ChangedPart[]} */
const FOLLOW = ['line', 'material', 'hours'];

/** @param {Changed[]} changed */
const changedRows = (changed) => make('ul', { class: 'changed' }, ...changed.map((one) => make('li', {},
  make('span', { text: one.what }), one.was ? make('span', { class: 'was', text: say('work.was', { was: one.was }) }) : null,
  make('b', { text: one.now ? say('work.now', { now: one.now }) : say('work.gone') }), one.why ? make('span', { class: 'why', text: one.why }) : null)));

/** What is not as it was, kind by kind; line by line only where it is opened, or with `all`. @param {Changed[]} changed @param {boolean} [all] */
export function changedList(changed, all) {
  const parts = CHANGED.map((part) => ({ part, rows: changed.filter((one) => one.part === part) })).filter(({ rows }) => rows.length);
  return make('div', { class: 'changes' }, ...parts.map(({ part, rows }) => (FOLLOW.includes(part) && !all
    ? make('details', { key: 'changed/' + part }, make('summary', { text: say('changed.' + part) }), changedRows(rows))
    : make('section', null, make('h3', { class: 'lesser', text: say('changed.' + part) }), changedRows(rows)))));
}

/** Where figures stand with the office. @param {GoAhead} go */
export function goAheadBox(go) {
  if (go.state === 'none') return make('p', { class: 'quiet', text: go.words });
  const by = go.by ? say('work.by_at', { who: go.by, when: go.at ? when(go.at) : '' }) : '';
  return make('section', { class: go.state === 'go_ahead' ? 'stand' : 'stand shut', attrs: { role: 'status', 'aria-label': say('work.go_ahead') } },
    make('p', { class: 'verdict-words', text: go.words }),
    go.amount ? make('p', { text: say('work.amount', { amount: money(go.amount) }) }) : null,
    go.ceiling ? make('p', { text: go.over ? say('work.over', { ceiling: money(go.ceiling), over: money(go.over) }) : say('work.ceiling', { ceiling: money(go.ceiling) }) }) : null,
    go.note && !go.words.includes(go.note) ? make('p', { text: say('work.note', { note: go.note }) }) : null,
    by ? make('p', { class: 'quiet', text: by }) : null,
    go.changed.length ? make('h2', { class: 'lesser', text: say('work.changed') }) : null,
    go.changed.length ? changedList(go.changed) : null);
}

/** The answer to what the office asked when it sent figures back; it goes with asking again. @param {import('./types/GoAhead.ts').GoAhead} go @param {string} key its draft */
export const answerField = (go, key) => (go.state === 'sent_back' ? textField({ key, label: say('figures.answer'), hint: say('figures.answer_hint'), value: draft(key), lines: 2, quiet: true, save: (text) => keepDraft(key, text.trim()) }) : null);

/** Asks the office, with what was answered. @param {string} key its draft @param {string | null} found */
export async function askAgain(key, found) {
  await ask({ kind: 'ask_go_ahead', job: job(), found, note: draft(key) });
  if (draft(key)) await keepDraft(key, '');
  tell(say('work.asked_now'));
}

/** Found more of a job, each leading to its own page. @param {import('./types/FoundRow.ts').FoundRow[]} rows @param {string} job */
export const foundList = (rows, job) => make('section', { attrs: { 'aria-label': say('found_more.title') } }, make('h2', { class: 'lesser', text: say('found_more.title') }),
  ...rows.map((row) => make('a', { class: 'row', attrs: { href: link('found_more.html', { job, found: row.id }) } },
    make('span', { text: row.line }),
    make('span', { class: 'quiet', text: [row.go_ahead.words, row.added ? say('work.adds', { amount: money(row.added) }) : ''].filter(Boolean).join(' · ') }))));

/** Before and after of one place, side by side; with `job` the after photos can be brought in. @param {import('./types/Pair.ts').Pair} pair @param {string} [job] */
export const pairPart = (pair, job) => make('section', { class: 'twin', key: 'pair/' + pair.words, attrs: { 'aria-label': pair.words } }, make('h3', { text: pair.words }),
  job ? make('a', { class: 'button', text: say('work.pair'), attrs: { href: link('photo_pair.html', { job, of: JSON.stringify(pair.of) }) } }) : null,
  make('div', { class: 'twin-sides' },
    make('div', null, make('h4', { text: say('work.before') }), photoStrip({ photos: pair.before, of: pair.of, when: 'before', wanted: pair.before.length ? null : say('work.no_before') })),
    make('div', null, make('h4', { text: say('work.after') }), photoStrip({ photos: pair.after, of: pair.of, when: 'after', job, wanted: pair.after.length ? null : say('work.no_after') }))));

/** On hold, with why, or going on again. @param {Head} head */
export function holdPart(head) {
  const hold = head.hold;
  /** @param {HoldWhy | ''} why @param {string} note */
  const set = (why, note) => ask({ kind: 'set_hold', job: head.job, hold: why ? { why, note } : null });
  return make('details', { key: 'hold' }, make('summary', { text: hold ? say('work.on_hold', { why: say('work.hold_' + hold.why) }) : say('work.hold') }),
    choice({
      key: 'hold-why', label: say('work.hold_why'), value: hold?.why ?? '',
      options: [{ value: '', label: say('work.going_on') }, .../** @type {HoldWhy[]} */ (['parts', 'weather', 'people', 'answer']).map((value) => ({ value, label: say('work.hold_' + value) }))],
      save: (value) => set(/** @type {HoldWhy | ''} */ (value), hold?.note ?? ''),
    }),
    hold ? textField({ key: 'hold-note', label: say('work.hold_note'), value: hold.note, hint: '', save: (text) => set(hold.why, text) }) : null);
}

/** A file with this text among the downloads. @param {string} text @param {string} type @param {string} name */
export function download(text, type, name) {
  // A web view has nowhere to put a file: the phone hands it to another app.
  if (onPhone()) return share(text, type, name);
  const url = URL.createObjectURL(new Blob([text], { type }));
  const anchor = make('a', { attrs: { href: url, download: name } });
  document.body.append(anchor);
  anchor.click();
  anchor.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}
