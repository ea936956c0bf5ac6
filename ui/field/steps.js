/**
 * Steps: the work in order, one step at a time. What can hurt someone stands before everything else of a
 * step, in full until its reader had it at another step of the same day, then as a line each that opens; *Found more* is always one tap away; the whole list of steps opens below the current one.
 */
import { Refused, ask, askFor } from '../parts/ask.js';
import { draft, keepDraft, withDrafts } from '../parts/drafts.js';
import { make } from '../parts/make.js';
import { job, param, refresh, start, tell } from '../parts/page.js';
import { keepAwake } from '../parts/phone.js';
import { photoStrip } from '../parts/photos.js';
import { duration, say, when, words } from '../parts/words.js';
import { lacksReason, valuePart } from '../parts/value.js';
import { newestNote, notesPart } from '../parts/notes.js';
import { foundList, holdPart, lacksList, link, workingOf } from '../parts/work.js';

/** @typedef {import('../parts/types/StepView.ts').StepView} StepView */
/** @typedef {import('../parts/types/FoundRow.ts').FoundRow} FoundRow */
/** @typedef {import('../parts/ask.js').Of<'steps'>} Steps */

/** The step that is shown: the one asked for, else the next one, else the last. @param {Steps} view */
function shown(view) {
  const asked = param('step');
  const at = (/** @type {string | null} */ key) => view.steps.findIndex((step) => step.key === key);
  const found = at(asked) >= 0 ? at(asked) : at(view.current);
  return found >= 0 ? found : view.steps.length - 1;
}

/** @param {string} key */
const stepHref = (key) => link('steps.html', { job: job(), step: key });

/** Seconds on the step now, the open stretch included. @param {StepView} step */
const secondsOn = (step) => step.seconds + (step.on_since ? Math.max(0, Math.round((Date.now() - Date.parse(step.on_since)) / 1000)) : 0);

/** @param {StepView} step */
function timeLine(step) {
  const figured = step.figured_hours ? say('steps.figured', { hours: step.figured_hours }) : '';
  // Nobody started the clock: that is not the same as no time.
  if (step.done && !step.seconds) return make('p', { class: 'time-line', text: [say('steps.no_time'), figured].filter(Boolean).join(' · ') });
  const text = () => [duration(secondsOn(step)) + ' ' + say(step.on_since ? 'steps.running' : 'steps.so_far'), figured].filter(Boolean).join(' · ');
  const line = make('p', { class: 'time-line', text: text() });
  const clock = setInterval(() => { if (!line.isConnected) clearInterval(clock); else if (step.on_since) line.textContent = text(); }, 15_000);
  return line;
}

/** @param {StepView} step */
function cautions(step) {
  if (!step.cautions.length) return null;
  const read = step.cautions.filter((text) => step.cautions_read.includes(text));
  const fresh = step.cautions.filter((text) => !step.cautions_read.includes(text));
  return make('section', { class: 'caution', attrs: { 'aria-label': say('steps.cautions') } },
    make('h2', { class: 'lesser', text: say('steps.cautions') }), ...fresh.map((text) => make('p', { text })),
    // Each still stands there in words: what can hurt, up to what is done about it.
    read.length ? make('details', { key: `cautions/${step.key}` },
      make('summary', null, make('span', { class: 'had' }, make('span', { class: 'quiet', text: say('steps.cautions_read') }), ...read.map((text) => make('span', { text: text.split(':', 1)[0] ?? text })))),
      ...read.map((text) => make('p', { text }))) : null);
}

/** What a photo taken at a step belongs to: before and after photos are the unit's, whenever they are taken. @param {StepView} step @returns {{of: import('../parts/types/PhotoOf.ts').PhotoOf, when: import('../parts/types/PhotoWhen.ts').PhotoWhen}} */
const belongs = (step) => {
  const when = step.key === 'before_photos' ? 'before' : step.key === 'after_photos' ? 'after' : null;
  return when ? { of: { of: 'unit' }, when } : { of: { of: 'step', id: step.key }, when: 'during' };
};

/** @param {Steps} view @param {StepView} step */
function stepPart(view, step) {
  const facts = [];
  if (step.stop_and_check) facts.push(say('steps.stop_and_check'));
  if (step.done) facts.push(say('steps.done_by', { who: step.done_by ?? '', when: step.done_at ? when(step.done_at) : '' }));
  return make('section', { key: 'step/' + step.key, attrs: { 'aria-label': step.title } },
    cautions(step),
    make('h2', { text: step.title }),
    facts.length ? make('p', { class: 'facts', text: facts.join(' · ') }) : null,
    timeLine(step),
    ...step.text.split('\n').filter(Boolean).map((text) => make('p', { text })),
    ...step.values.map((value) => valuePart(view.head, step, value)),
    step.remark ? make('p', { class: 'note', text: step.remark }) : null,
    step.photos_wanted || step.photos.length ? make('section', { class: 'photos-part' },
      make('h2', { class: 'lesser', text: say('steps.photos', { taken: step.photos.length, wanted: step.photos_wanted }) }),
      photoStrip({ photos: step.photos, ...belongs(step), job: job() })) : null,
    step.basis.length ? workingOf(say('steps.working'), step.basis) : null,
    !step.done && step.lacks.length ? lacksList(say('steps.lacks'), step.lacks.map((text) => lackOf(step, text)), step.lacks_where) : null);
}

/** A value that was typed and lacks its reason is not one that lacks. @param {StepView} step @param {string} lack */
function lackOf(step, lack) {
  const value = step.values.find((one) => lacksReason(step, one) && lack.startsWith(one.what));
  return value ? say('steps.lacks_reason', { what: value.what }) : lack;
}

/** The steps before and after, and all of them. @param {Steps} view @param {number} at */
function around(view, at) {
  const before = view.steps[at - 1];
  const after = view.steps[at + 1];
  return make('nav', { class: 'around', attrs: { 'aria-label': say('steps.all') } },
    before ? make('a', { class: 'row', attrs: { href: stepHref(before.key) } }, say('steps.before', { title: before.title })) : null,
    after ? make('a', { class: 'row', attrs: { href: stepHref(after.key) } }, say('steps.after', { title: after.title })) : null,
    make('details', { key: 'all' },
      make('summary', { text: say('steps.all_count', { done: view.steps.filter((step) => step.done).length, count: view.steps.length }) }),
      make('ol', { class: 'steps' }, ...view.steps.map((step) => {
        const state = step.done ? say('steps.is_done') : step.key === view.current ? say('steps.is_next') : '';
        const check = step.stop_and_check ? say('steps.stop_and_check') : '';
        return make('li', {}, make('a', { class: step.done ? 'row done' : 'row', attrs: { href: stepHref(step.key), ...(step.key === view.current ? { 'aria-current': 'step' } : {}) } },
          make('span', { text: step.title }), make('span', { class: 'quiet', text: [state, check].filter(Boolean).join(' · ') })));
      }))));
}

/** What keeps the steps shut. @param {Steps} view */
function shutPart(view) {
  if (!view.shut) return null;
  return make('section', { class: 'notice', attrs: { role: 'status' } }, make('p', { text: view.shut }));
}

/** Where no check stands before the work: what it needs is looked up once, before anything is begun. @param {Steps} view */
function beforePart(view) {
  if (view.shut || view.head.opens_roof || view.steps.some((step) => step.done || step.seconds || step.on_since)) return null;
  const to = (/** @type {string} */ name) => make('a', { class: 'button', attrs: { href: link(name + '.html', { job: job() }) } }, say(name + '.title'));
  return make('section', { class: 'note', attrs: { 'aria-label': say('steps.before_start') } }, make('p', { text: say('steps.before_start_words') }), make('div', { class: 'buttons' }, to('cut_list'), to('buying')));
}

/** An answer is news until it was seen at the step that was open when it came. @param {FoundRow} row */
const newsKey = (row) => `answer_seen/${row.id}/${row.go_ahead.at ?? ''}`;

/** What was found more and waits, or was just answered; the others are a line each, in a list that opens. @param {Steps} view @param {StepView | undefined} step */
function foundParts(view, step) {
  const answered = (/** @type {FoundRow} */ row) => row.go_ahead.state === 'go_ahead';
  const isNews = (/** @type {FoundRow} */ row) => !answered(row) || !draft(newsKey(row)) || draft(newsKey(row)) === step?.key;
  for (const row of view.found) if (step && answered(row) && !draft(newsKey(row))) keepDraft(newsKey(row), step.key);
  const [news, old] = [view.found.filter(isNews), view.found.filter((row) => !isNews(row))];
  return [
    news.length ? foundList(news, job()) : null,
    old.length ? make('details', { key: 'found' }, make('summary', { text: say('steps.found', { n: old.length }) }), foundList(old, job())) : null,
  ];
}

/** @param {Steps} view @param {HTMLElement} body */
function draw(view, body) {
  seen = view;
  keepAwake(view.steps.some((step) => step.on_since));
  if (!view.steps.length) {
    body.append(make('p', { text: view.shut ?? say('steps.empty') }), make('a', { class: 'button', attrs: { href: link('ways.html', { job: job() }) } }, say('ways.title')));
    return;
  }
  const at = shown(view);
  const step = view.steps[at];
  const before = view.steps[at - 1];
  body.append(...[
    shutPart(view),
    beforePart(view),
    newestNote(view.notes),
    view.current === null ? make('p', { class: 'notice', text: say('steps.all_done') }) : null,
    before?.done ? make('p', { class: 'done-before', text: say('steps.done_before', { title: before.title }) }) : null,
    step ? stepPart(view, step) : null,
    ...foundParts(view, step),
    around(view, at),
    notesPart(view.head.job, view.notes),
    holdPart(view.head),
  ].filter(/** @returns {node is HTMLElement} */ (node) => node !== null));
}

/** @param {Steps} view */
function tray(view) {
  const step = view.steps[shown(view)];
  if (!step) return [];
  const acts = [{ label: say('found_more.title'), href: link('found_more.html', { job: job(), step: step.key }) }];
  if (view.shut) return [...acts, { label: say(view.shut_where + '.title'), main: true, href: link(view.shut_where + '.html', { job: job() }) }];
  const time = { label: say(step.on_since ? 'steps.pause' : 'steps.start'), act: () => orThere(step, () => ask({ kind: 'step_time', job: job(), step: step.key, on: !step.on_since })) };
  const done = step.done
    ? { label: say('steps.open_again'), act: () => ask({ kind: 'step_done', job: job(), step: step.key, done: false }) }
    : { label: say(step.stop_and_check ? 'steps.checked' : 'steps.done'), main: true, act: () => orThere(step, () => finish(step)) };
  const proof = view.current === null ? [{ label: say('proof.title'), main: true, href: link('proof.html', { job: job() }) }] : [];
  return step.done ? [...acts, done, ...proof] : [...acts, time, done];
}

/** The steps as they were last drawn. @type {Steps | null} */
let seen = null;

/**
 * Where another step keeps this one shut, the page goes there: that step may have come after the list was drawn.
 * @param {StepView} step @param {() => Promise<unknown>} act
 */
async function orThere(step, act) {
  try { return await act(); } catch (refused) {
    if (!(refused instanceof Refused) || refused.code === 'no_door') throw refused;
    await refresh();
    const first = seen?.steps.find((one) => one.key === step.key)?.lacks_where.find((where) => where.startsWith('steps?step='));
    if (first && (refused.code === 'step_shut' || refused.code === 'step_lacks')) {
      history.replaceState(null, '', stepHref(first.slice('steps?step='.length)));
      await refresh();
      scrollTo(0, 0);
    }
    throw refused;
  }
}

/** Done: the next step comes up at its beginning; whose time ran on this one is told that it runs on there. @param {StepView} step */
async function finish(step) {
  const saved = await ask({ kind: 'step_done', job: job(), step: step.key, done: true });
  history.replaceState(null, '', link('steps.html', { job: job() }));
  return () => {
    scrollTo(0, 0);
    const next = seen?.steps.find((one) => one.key === seen?.current);
    // What went out of stock and what is short there stands before it.
    const what = saved.kind === 'saved' && saved.words ? say('page.saved_what', { what: saved.words }).replace(/[^.]$/, '$&.') : '';
    if (step.on_since && next?.on_since) tell(`${what} ${say('steps.time_goes_on', { title: next.title })}`.trim());
  };
}

await words();
start({
  title: (/** @type {Steps} */ view) => (view.steps.length ? say('steps.heading', { number: shown(view) + 1, count: view.steps.length }) : say('steps.title')),
  load: withDrafts((id) => askFor('steps', { kind: 'steps', job: id })),
  draw,
  tray,
  lengths: (/** @type {Steps} */ view) => Boolean(view.steps[shown(view)]?.values.some((value) => value.form === 'length' && !view.steps[shown(view)]?.done)),
});
