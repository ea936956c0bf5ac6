/** One value of a step: a length or temperature to be typed, a choice to be tapped, or, once the step is done, what it was. */
import { ask } from './ask.js';
import { clashOf, clashPart, part } from './clash.js';
import { choice, lengthField, taken, textField } from './fields.js';
import { make } from './make.js';
import { job, redraw } from './page.js';
import { core, say } from './words.js';
import { standingWord } from './working.js';

/** @typedef {import('./types/Head.ts').Head} Head */
/** @typedef {import('./types/StepView.ts').StepView} StepView */
/** @typedef {import('./types/ValueView.ts').ValueView} ValueView */

/** What was measured and refused for want of a reason, by field. @type {Map<string, string>} */
const pending = new Map();

/** @param {StepView} step @param {ValueView} value */
const keyOf = (step, value) => `${step.key}/${value.key}`;

/** A value that was typed and lacks its reason. @param {StepView} step @param {ValueView} value */
export const lacksReason = (step, value) => pending.has(keyOf(step, value));

/** A choice goes to the core in its own words and is said in those of the screen; what a person put beside it stays. @param {ValueView} value @param {string} text */
function readable(value, text) {
  const choice = [value.wanted, value.otherwise ?? ''].find((one) => one && (text === one || text.startsWith(one + ': ')));
  return choice ? core(choice) + text.slice(choice.length) : text;
}

/** @param {ValueView} value */
const wantedWords = (value) => (value.wanted ? `${say(value.tolerance ? 'steps.wanted_fits' : 'steps.wanted', { wanted: core(value.wanted), tolerance: value.tolerance })} · ${say('work.from', { standing: standingWord(value.standing) })}` : '');

/** @param {ValueView} value */
function verdict(value) {
  if (value.fits === null) return '';
  return value.fits ? say('steps.fits') : value.how_far ? say('steps.fits_not', { far: value.how_far }) : say('steps.not_so');
}

/** @param {StepView} step @param {ValueView} value @param {string} measured @param {string} reason */
async function save(step, value, measured, reason) {
  await ask({ kind: 'measure', job: job(), step: step.key, value: value.key, measured, reason, zone: -new Date().getTimezoneOffset() });
  pending.delete(keyOf(step, value));
  // What was refused of it is settled: by its reason, or with the reason of the value before.
  for (const of of ['', '/reason']) taken(keyOf(step, value) + of);
}

/** Why a value that does not fit stays so; it belongs to that value alone. @param {StepView} step @param {ValueView} value @param {string} now what is or was just measured */
function reasonField(step, value, now) {
  const key = keyOf(step, value);
  const field = textField({
    key: key + '/reason', label: say('steps.reason'), value: pending.has(key) ? '' : value.measured?.reason ?? '', hint: say('steps.reason_hint'),
    save: (text) => save(step, value, pending.get(key) ?? now, text),
  });
  field.hidden = value.fits !== false && !pending.has(key);
  return field;
}

/** @param {StepView} step @param {ValueView} value */
function typedPart(step, value) {
  const key = keyOf(step, value);
  const said = value.said ?? value.measured?.text ?? '';
  const field = (value.form === 'length' ? lengthField : textField)({
    key, label: value.what, value: said, hint: wantedWords(value), remark: verdict(value), by: value.by,
    save: async (text) => {
      // A reason belongs to its value: another one is asked for its own.
      try { await save(step, value, text, text === said ? value.measured?.reason ?? '' : ''); } catch (refused) {
        if (/** @type {{field?: string}} */ (refused).field === 'reason') {
          pending.set(key, text);
          taken(key + '/reason');
          // Once the refusal stands beside the field.
          setTimeout(redraw);
        }
        throw refused;
      }
    },
  });
  return [field, reasonField(step, value, said)];
}

/** As wanted or not so, one tap each; words beside it. @param {StepView} step @param {ValueView} value @param {string} otherwise */
function choicePart(step, value, otherwise) {
  const key = keyOf(step, value);
  const text = value.measured?.text ?? '';
  const now = value.fits === null ? '' : value.fits ? value.wanted : otherwise;
  const beside = now && text.startsWith(now + ': ') ? text.slice(now.length + 2) : '';
  return [
    choice({
      key, label: value.what, value: now, hint: wantedWords(value), by: value.by, columns: false,
      // An entry of an older program says neither: it stays readable.
      remark: now || !text ? '' : say('steps.entered', { text }),
      options: [value.wanted, otherwise].map((one) => ({ value: one, label: core(one) })),
      save: (chosen) => save(step, value, chosen, ''),
    }),
    now ? textField({
      key: key + (value.fits ? '/beside' : '/where'), label: say(!value.fits ? 'steps.where' : value.words_wanted ? 'steps.written' : 'steps.beside'), value: beside, hint: '',
      // What fits has no reason.
      save: (words) => save(step, value, words.trim() ? `${now}: ${words.trim()}` : now, value.fits ? '' : value.measured?.reason ?? ''),
    }) : null,
    value.fits === false ? reasonField(step, value, text) : null,
  ];
}

/** One value of a step. @param {Head} head @param {StepView} step @param {ValueView} value */
export function valuePart(head, step, value) {
  const key = keyOf(step, value);
  const clash = clashPart(head, clashOf(head, `step/${part(step.key)}/measured/${part(value.key)}`));
  const box = { class: value.fits === false ? 'value off' : 'value', key: 'value/' + key };
  if (step.done) {
    const reason = value.measured?.reason;
    return make('div', box, make('p', null, `${value.what}: `, make('b', { text: readable(value, value.said ?? '') })), clash,
      make('p', { class: 'quiet', text: [verdict(value), reason ? `${say('steps.reason')}: ${reason}` : '', wantedWords(value), value.by ? say('field.by', { who: value.by }) : ''].filter(Boolean).join(' · ') }));
  }
  const [field, ...more] = value.otherwise === null ? typedPart(step, value) : choicePart(step, value, value.otherwise);
  return make('div', box, field, clash, ...more);
}
