/**
 * Found more: hidden damage while the unit is open. Line, photo, mark, *Ask*; the next of these is always the
 * main act in the tray, so that the whole takes less than a minute with one hand.
 */
import { Refused, ask, askFor } from '../parts/ask.js';
import { withDrafts } from '../parts/drafts.js';
import { estimateView } from '../parts/estimate.js';
import { textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, param, run, start } from '../parts/page.js';
import { photoStrip } from '../parts/photos.js';
import { say, words } from '../parts/words.js';
import { answerField, askAgain, foundList, goAheadBox, lacksList, link } from '../parts/work.js';

/** @typedef {import('../parts/ask.js').Of<'found_more'> | import('../parts/ask.js').Of<'steps'>} View */

let line = '';

/** @param {string} id @returns {Promise<View>} */
const load = async (id) => {
  const found = param('found');
  return found ? askFor('found_more', { kind: 'found_more', job: id, found }) : askFor('steps', { kind: 'steps', job: id });
};

/** Step that the find belongs to: the one it came from, else the next one. @param {import('../parts/ask.js').Of<'steps'>} view */
const stepKey = (view) => param('step') || view.current || '';

/** The save that runs, since leaving the field and a tap on the tray both ask for it. @type {Promise<void> | null} */
let saving = null;

/** Saves the line; the page then shows the new find. @param {View} view @param {string} text */
function save(view, text) {
  line = text;
  saving ??= put(view, text).finally(() => { saving = null; });
  return saving;
}

/** @param {View} view @param {string} text */
async function put(view, text) {
  if (!text.trim() || (view.kind === 'steps' && param('found'))) return;
  const found = view.kind === 'found_more' ? view.row.id : null;
  const step = view.kind === 'found_more' ? view.row.step : stepKey(view);
  const saved = await ask({ kind: 'find_more', job: job(), line: text, step, found });
  if (!found && saved.kind === 'saved' && saved.id) history.replaceState(null, '', link('found_more.html', { job: job(), found: saved.id }));
}

/** @param {View} view */
const lineField = (view) => textField({
  key: 'line', label: say('found_more.line'), value: view.kind === 'found_more' ? view.row.line : line, hint: say('found_more.line_hint'), lines: 2,
  save: (text) => save(view, text),
});

/** @param {import('../parts/ask.js').Of<'steps'>} view */
function drawNew(view) {
  const step = view.steps.find((one) => one.key === stepKey(view));
  return [
    step ? make('p', { class: 'quiet', text: say('found_more.at_step', { step: step.title }) }) : null,
    lineField(view),
    make('p', { text: say('found_more.then') }),
    view.found.length ? foundList(view.found, job()) : null,
  ];
}

/** @param {import('../parts/ask.js').Of<'found_more'>} view */
function drawFound(view) {
  const marks = view.marks.map((mark) => make('a', { class: 'row', attrs: { href: link('mark.html', { job: job(), mark: mark.id }) } },
    make('span', { text: `${say('damage.' + mark.kind)} · ${mark.where_}` }),
    make('span', { class: 'quiet', text: [mark.size, say('age.' + mark.age), mark.hits_words].filter(Boolean).join(' · ') })));
  return [
    view.row.go_ahead.state === 'none' ? lineField(view) : make('h2', { text: view.row.line }),
    goAheadBox(view.row.go_ahead),
    answerField(view.row.go_ahead, `answer/${view.row.id}`),
    make('section', { class: 'photos-part' }, make('h2', { class: 'lesser', text: say('found_more.photos', { n: view.photos.length }) }),
      photoStrip({ photos: view.photos, of: { of: 'found', id: view.row.id }, when: 'during', job: job(), wanted: view.photos.length ? null : say('found_more.photo_wanted') })),
    make('section', {}, make('h2', { class: 'lesser', text: say('found_more.marks') }), ...marks,
      make('a', { class: 'button', attrs: { href: markHref(view) } }, say(marks.length ? 'found_more.another_mark' : 'found_more.mark'))),
    view.lacks.length ? lacksList(say('found_more.lacks'), view.lacks) : null,
    view.added ? make('section', {}, make('h2', { text: say('found_more.adds') }), estimateView(view.added)) : null,
    make('button', { class: 'button apart', attrs: { type: 'button' }, on: { click: () => run(() => remove(view)) } }, say('found_more.remove')),
  ];
}

/** @param {View} view @param {HTMLElement} body */
function draw(view, body) {
  const parts = view.kind === 'found_more' ? drawFound(view) : drawNew(view);
  for (const part of parts) if (part) body.append(part);
}

/** @param {import('../parts/ask.js').Of<'found_more'>} view */
const markHref = (view) => link('fold_out.html', { job: job(), found: view.row.id });

/** @param {import('../parts/ask.js').Of<'found_more'>} view */
async function remove(view) {
  await ask({ kind: 'remove_found', job: job(), found: view.row.id });
  location.replace(link('steps.html', { job: job(), step: view.row.step }));
}

/** The field's own words, saved before the photo is taken. @param {View} view */
async function next(view) {
  const input = /** @type {HTMLInputElement | null} */ (document.querySelector('[data-key="line"] input, [data-key="line"] textarea'));
  if (input?.value.trim()) return save(view, input.value);
  input?.focus();
  throw new Refused({ code: 'needs_line', sentence: say('found_more.needs_line'), field: 'line' });
}

/** Next act first as the main one. @param {View} view */
function tray(view) {
  if (view.kind === 'steps') return [{ label: say('found_more.next_photo'), main: true, act: () => next(view) }];
  const back = { label: say('found_more.back'), href: link('steps.html', { job: job(), step: view.row.step }) };
  const mark = { label: say('found_more.mark'), href: markHref(view) };
  const { state } = view.row.go_ahead;
  if (state === 'asked' || state === 'go_ahead') return [{ ...back, main: true }];
  if (!view.photos.length) return [mark, { label: say('found_more.photo'), main: true, act: camera }];
  if (!view.marks.length) return [back, { ...mark, main: true }];
  // Without a way there is nothing to ask for yet.
  if (view.lacks.length) return [back, { label: say('ways.title'), main: true, href: link('ways.html', { job: job(), found: view.row.id, group: view.marks[0]?.id ?? '' }) }];
  return [back, { label: say(state === 'sent_back' ? 'figures.ask_again' : 'found_more.ask'), main: true, act: () => askGoAhead(view) }];
}

/** Opens the camera of the strip on the page. */
function camera() {
  /** @type {HTMLElement | null} */ (document.querySelector('input[type=file][capture]'))?.click();
}

/** @param {import('../parts/ask.js').Of<'found_more'>} view */
const askGoAhead = (view) => askAgain(`answer/${view.row.id}`, view.row.id);

await words();
start({ title: say('found_more.title'), load: withDrafts(load), draw, tray });
