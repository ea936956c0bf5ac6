/**
 * Proof: what is shown before the unit goes, each row with its rule and the rule's date, and before and after
 * side by side. The program says what was checked and by whom, never that a repair is safe.
 */
import { ask, askFor } from '../parts/ask.js';
import { draft, keepDraft, withDrafts } from '../parts/drafts.js';
import { choice, refusedText, taken, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, refresh, start } from '../parts/page.js';
import { say, when, words } from '../parts/words.js';
import { link, pairPart } from '../parts/work.js';

/** @typedef {import('../parts/types/ProofRow.ts').ProofRow} ProofRow */
/** @typedef {import('../parts/types/ProofOk.ts').ProofOk} ProofOk */
/** @typedef {import('../parts/ask.js').Of<'proof'>} Proof */

/** Value and note typed before the row has an answer: kept as drafts, the answer takes them along. @param {ProofRow} row @param {'value' | 'note'} field */
const draftKey = (row, field) => `proof/${row.key}/${field}`;

/** @param {ProofRow} row */
function answerPart(row) {
  const now = {
    value: row.answer?.value ?? draft(draftKey(row, 'value')),
    note: row.answer?.note ?? draft(draftKey(row, 'note')),
  };
  /** @param {ProofOk} ok */
  const set = async (ok) => {
    await ask({ kind: 'set_proof', job: job(), row: row.key, answer: { ok, ...now } });
    for (const field of /** @type {const} */ (['value', 'note'])) await keepDraft(draftKey(row, field), '');
  };
  /** @param {'value' | 'note'} field @param {string} text */
  const keep = async (field, text) => {
    now[field] = text;
    if (row.answer) return set(row.answer.ok);
    await keepDraft(draftKey(row, field), text);
    // Answered before it was measured: that answer was refused, and is taken along now.
    const tried = refusedText(row.key);
    if (!tried) return undefined;
    await set(/** @type {ProofOk} */ (tried));
    taken(row.key);
    return refresh();
  };
  // Pairs speak for themselves: the photos below are there or not.
  if (row.form === 'photo_pairs') return [];
  const hint = row.answer ? '' : say('proof.goes_with');
  return [
    row.form === 'measured' ? textField({ key: row.key + '/value', label: say('proof.measured'), value: now.value, hint, quiet: !row.answer, save: (text) => keep('value', text) }) : null,
    choice({
      key: row.key, label: say('proof.answer'), value: row.answer?.ok ?? '', columns: false,
      options: [{ value: 'yes', label: say('proof.yes') }, { value: 'no', label: say('proof.no') }, { value: 'not_needed', label: say('proof.not_needed') }],
      save: (value) => set(/** @type {ProofOk} */ (value)),
    }),
    textField({ key: row.key + '/note', label: say('proof.note'), value: now.note, hint, quiet: !row.answer, save: (text) => keep('note', text) }),
  ];
}

/** The time before which a row cannot be answered, while that is still to come. @param {ProofRow} row */
const waitsUntil = (row) => (row.not_before && Date.parse(row.not_before) > Date.now() ? row.not_before : null);

/** One row of all is the next one: it opens by itself, also after the one before it was answered. @param {ProofRow} row @param {boolean} next */
function rowPart(row, next) {
  const waits = waitsUntil(row);
  const by = row.by ? say('work.by_at', { who: row.by, when: row.at ? when(row.at) : '' }) : '';
  return make('details', { class: row.ok ? 'check-row ok' : 'check-row', key: `row/${row.key}${next ? '/next' : ''}`, attrs: { open: next } },
    make('summary', {}, make('span', { text: row.title }), make('span', { class: 'state', text: say(waits ? 'proof.waits' : row.ok ? 'proof.shown' : row.answer ? 'proof.not_so' : 'proof.open') })),
    make('p', { class: 'quiet', text: [row.rule, row.rule_date].filter(Boolean).join(' · ') }),
    row.remark ? make('p', { text: row.remark }) : null,
    ...(waits ? [make('p', { class: 'notice', text: say('proof.not_before', { when: when(waits) }) })] : answerPart(row)),
    by ? make('p', { class: 'quiet', text: by }) : null);
}

/** @param {Proof} view @param {HTMLElement} body */
function draw(view, body) {
  if (!view.rows.length) body.append(make('p', { text: say('proof.empty') }));
  else body.append(make('p', { class: 'facts', attrs: { role: 'status' }, text: say('proof.count', { shown: view.rows.filter((row) => row.ok).length, count: view.rows.length }) }));
  const first = view.rows.find((row) => !row.ok && !waitsUntil(row));
  body.append(...view.rows.map((row) => rowPart(row, row === first)));
  body.append(make('h2', { text: say('proof.pairs') }));
  if (!view.pairs.length) body.append(make('p', { text: say('proof.no_pairs') }));
  for (const pair of view.pairs) body.append(pairPart(pair, job()));
  body.append(make('p', { class: 'quiet', text: view.rule_note }));
}

/** @param {Proof} view */
const tray = (view) => [
  { label: say('steps.title'), href: link('steps.html', { job: job() }) },
  { label: say('handover.title'), main: view.lacks.length === 0, href: link('handover.html', { job: job() }) },
];

await words();
start({ title: say('proof.title'), load: withDrafts((id) => askFor('proof', { kind: 'proof', job: id })), draw, tray });
