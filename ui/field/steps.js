/**
 * Steps: the work in order, one step at a time. What can hurt someone stands before everything else of a
 * step; *Found more* is always one tap away; the whole list of steps opens below the current one.
 */
import { ask, askFor } from '../parts/ask.js';
import { clashOf, clashPart, part } from '../parts/clash.js';
import { lengthField, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, param, start, tell } from '../parts/page.js';
import { keepAwake } from '../parts/phone.js';
import { photoStrip } from '../parts/photos.js';
import { duration, say, when, words } from '../parts/words.js';
import { standingWord } from '../parts/working.js';
import { newestNote, notesPart } from '../parts/notes.js';
import { foundList, holdPart, lacksList, link, workingOf } from '../parts/work.js';

/** @typedef {import('../parts/types/Head.ts').Head} Head */
/** @typedef {import('../parts/types/StepView.ts').StepView} StepView */
/** @typedef {import('../parts/types/ValueView.ts').ValueView} ValueView */
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

/** What was measured and refused for want of a reason, by field. @type {Map<string, string>} */
const pending = new Map();

/** One value to be measured, with its reason where it lies out of tolerance. @param {Head} head @param {StepView} step @param {ValueView} value */
function valueField(head, step, value) {
  const key = `${step.key}/${value.key}`;
  const said = value.said ?? value.measured?.text ?? '';
  /** @param {string} measured @param {string} reason */
  const save = async (measured, reason) => {
    await ask({ kind: 'measure', job: job(), step: step.key, value: value.key, measured, reason, zone: -new Date().getTimezoneOffset() });
    pending.delete(key);
  };
  const reason = textField({
    key: key + '/reason', label: say('steps.reason'), value: value.measured?.reason ?? '', hint: say('steps.reason_hint'),
    save: (text) => save(pending.get(key) ?? said, text),
  });
  reason.hidden = value.fits !== false && !value.measured?.reason && !pending.has(key);
  const wanted = value.wanted ? `${say(value.tolerance ? 'steps.wanted_fits' : 'steps.wanted', { wanted: value.wanted, tolerance: value.tolerance })} · ${say('work.from', { standing: standingWord(value.standing) })}` : '';
  const verdict = value.fits === null ? '' : value.fits ? say('steps.fits') : say('steps.fits_not', { far: value.how_far ?? '' });
  const field = (value.form === 'length' ? lengthField : textField)({
    key, label: value.what, value: said, hint: wanted, remark: verdict, by: value.by,
    save: async (text) => {
      pending.set(key, text);
      try { await save(text, value.measured?.reason ?? ''); } catch (refused) {
        if (/** @type {{field?: string}} */ (refused).field === 'reason') reason.hidden = false;
        throw refused;
      }
    },
  });
  const clash = clashOf(head, `step/${part(step.key)}/measured/${part(value.key)}`);
  return make('div', { class: value.fits === false ? 'value off' : 'value', key: 'value/' + key }, field, clashPart(head, clash), reason);
}

/** @param {StepView} step */
function cautions(step) {
  if (!step.cautions.length) return null;
  return make('section', { class: 'caution', attrs: { 'aria-label': say('steps.cautions') } },
    make('h2', { class: 'lesser', text: say('steps.cautions') }), ...step.cautions.map((text) => make('p', { text })));
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
    ...step.values.map((value) => valueField(view.head, step, value)),
    step.remark ? make('p', { class: 'note', text: step.remark }) : null,
    step.photos_wanted || step.photos.length ? make('section', { class: 'photos-part' },
      make('h2', { class: 'lesser', text: say('steps.photos', { taken: step.photos.length, wanted: step.photos_wanted }) }),
      photoStrip({ photos: step.photos, ...belongs(step), job: job() })) : null,
    step.basis.length ? workingOf(say('steps.working'), step.basis) : null,
    !step.done && step.lacks.length ? lacksList(say('steps.lacks'), step.lacks.map((text) => lackOf(step, text)), step.lacks_where) : null);
}

/** A value that was typed and lacks its reason is not one that lacks. @param {StepView} step @param {string} lack */
function lackOf(step, lack) {
  const value = step.values.find((one) => pending.has(`${step.key}/${one.key}`) && lack.startsWith(one.what));
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
    view.found.length ? foundList(view.found, job()) : null,
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
  const time = { label: say(step.on_since ? 'steps.pause' : 'steps.start'), act: () => ask({ kind: 'step_time', job: job(), step: step.key, on: !step.on_since }) };
  const done = step.done
    ? { label: say('steps.open_again'), act: () => ask({ kind: 'step_done', job: job(), step: step.key, done: false }) }
    : { label: say(step.stop_and_check ? 'steps.checked' : 'steps.done'), main: true, act: () => finish(step) };
  const proof = view.current === null ? [{ label: say('proof.title'), main: true, href: link('proof.html', { job: job() }) }] : [];
  return step.done ? [...acts, done, ...proof] : [...acts, time, done];
}

/** The steps as they were last drawn. @type {Steps | null} */
let seen = null;

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
  load: (/** @type {string} */ id) => askFor('steps', { kind: 'steps', job: id }),
  draw,
  tray,
  lengths: (/** @type {Steps} */ view) => Boolean(view.steps[shown(view)]?.values.some((value) => value.form === 'length')),
});
