/**
 * Fields that save themselves. There is no Save button: a field saves when its value changes, keeps what was
 * typed if it was refused, and shows the sentence of the refusal beside itself.
 */
import { Refused } from './ask.js';
import { local, make, newId } from './make.js';
import { loaded, refresh } from './page.js';
import { say } from './words.js';

/** @typedef {{value: string, label: string, hint?: string}} Option */
/** @typedef {{key: string, label: string, value: string, hint?: string, by?: string | null, remark?: string | null, doubt?: string | null, lines?: number, type?: string, inputmode?: string, suggest?: string[], save: (text: string) => Promise<unknown>, quiet?: boolean}} TextField */

/** What was typed and refused, by field: it outlives a redraw. @type {Map<string, {text: string, sentence: string}>} */
const refused = new Map();
/**
 * Puts a refusal beside a field that did not save itself. @param {string} key @param {string} text @param {string} sentence
 */
export const refuse = (key, text, sentence) => refused.set(key, { text, sentence });
/** What was entered here and refused. @param {string} key */
export const refusedText = (key) => refused.get(key)?.text;
/** What was typed and refused here has been taken with another field. @param {string} key */
export const taken = (key) => refused.delete(key);
/** Forgets what was typed and refused: after Undo the fields show what holds. */
export const forget = () => refused.clear();
/**
 * What each field does to save, as it was last drawn. A field that keeps the focus over a redraw saves with this:
 * its own is from before, and would write back what another field has changed since.
 * @type {Map<string, (text: string) => Promise<unknown>>}
 */
const savers = new Map();
/** Saves go one after another, each with its redraw: whoever types fast into two fields of one thing changes both. */
let saving = /** @type {Promise<unknown>} */ (Promise.resolve());
/** The length field that was last in use; the keys type into it. @type {HTMLInputElement | null} */
let lengthInUse = null;

/** Runs once typing has paused. @param {() => unknown} act */
export function later(act) {
  let timer = 0;
  return () => { clearTimeout(timer); timer = setTimeout(act, 300); };
}

/** Rows that a text takes where a line does not hold it: with large letters, or many words, its end would not be seen. @param {string} text */
function rowsOf(text) {
  const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
  const across = Math.min(document.documentElement.clientWidth, 60 * rem) - 60;
  return text.length * 0.85 * rem > across ? Math.ceil((text.length * 0.62 * rem) / across) + 1 : 1;
}

/**
 * A line of text that grows where its text is longer. `lines` makes it a text area; `by` says who set it; `remark` is said beside it; `quiet` leaves
 * out the refresh after saving.
 * @param {TextField} field
 * @returns {HTMLElement}
 */
export function textField(field) {
  const id = newId('field');
  const draft = refused.get(field.key);
  const attrs = { id, name: field.key, 'aria-describedby': `${id}-hint ${id}-wrong ${id}-by`, autocomplete: 'off', inputmode: field.inputmode, list: field.suggest?.length ? `${id}-list` : null };
  const line = !field.lines;
  const rows = field.lines ?? (field.type || field.inputmode || field.suggest?.length ? 1 : rowsOf(draft?.text ?? field.value));
  const input = line && rows < 2 ? make('input', { attrs: { ...attrs, type: field.type ?? 'text' } }) : make('textarea', { attrs: { ...attrs, rows } });
  input.value = draft?.text ?? field.value;
  const wrong = make('p', { class: 'wrong', attrs: { id: `${id}-wrong`, role: 'alert' }, text: draft?.sentence ?? '' });
  if (draft) input.setAttribute('aria-invalid', 'true');
  savers.set(field.key, field.save);
  let saved = field.value;
  input.addEventListener('change', async () => {
    if (input.value === saved && !refused.has(field.key)) return;
    const text = input.value;
    await kept(field.key, text, input, wrong, async () => { await (savers.get(field.key) ?? field.save)(text); saved = text; }, field.quiet);
  });
  // What is looked for is found while it is typed.
  if (field.type === 'search') input.addEventListener('input', later(() => input.dispatchEvent(new Event('change'))));
  if (line) input.addEventListener('keydown', (event) => { if (/** @type {KeyboardEvent} */ (event).key === 'Enter') { event.preventDefault(); input.blur(); } });
  return make('div', { class: 'field', key: field.key, attrs: { 'data-field': true } },
    make('label', { text: field.label, attrs: { for: id } }),
    make('p', { class: 'hint', text: field.hint ?? '', attrs: { id: `${id}-hint` } }),
    input,
    field.suggest?.length ? make('datalist', { attrs: { id: `${id}-list` } }, field.suggest.map((value) => make('option', { attrs: { value } }))) : null,
    below(id, wrong, field));
}

/**
 * The line below a field: what is wrong, or else what is doubtful about the value, a remark and who set it. It is
 * always there, so nothing moves.
 * @param {string} id @param {Element} wrong @param {{by?: string | null, remark?: string | null, doubt?: string | null}} field
 */
const below = (id, wrong, { by, remark, doubt }) => make('div', { class: 'below' }, wrong,
  make('div', { class: 'by', attrs: { id: `${id}-by` } }, doubt ? make('p', { class: 'doubt', text: doubt }) : null,
    make('p', { text: [remark, by ? say('field.by', { who: by }) : ''].filter(Boolean).join(' · ') })));

/**
 * A length in tape notation. The screen's `lengths` puts the keys that a number pad lacks into the tray.
 * @param {TextField} field
 */
export function lengthField(field) {
  const made = textField({ inputmode: 'decimal', ...field });
  const input = made.querySelector('input');
  made.classList.add('length');
  input?.addEventListener('focus', () => { lengthInUse = input; });
  return made;
}

/**
 * A day, the one field for it everywhere: typed in either form, or picked on the device's own calendar at its end. A time
 * behind the day stays where another day is picked.
 * @param {TextField} field
 */
export function dateField(field) {
  const made = textField({ inputmode: 'text', ...field, hint: field.hint || say('field.date_hint') });
  const input = made.querySelector('input');
  const ISO = /^\d{4}-\d\d-\d\d/;
  const pick = make('input', { attrs: { type: 'date', 'aria-label': say('field.date_pick', { what: field.label }) } });
  pick.value = ISO.exec(field.value)?.[0] ?? '';
  pick.addEventListener('change', (event) => {
    event.stopPropagation();
    if (!input || !ISO.test(pick.value)) return;
    input.value = ISO.test(input.value) ? input.value.replace(ISO, pick.value) : pick.value;
    input.dispatchEvent(new Event('change'));
  });
  const row = make('div', { class: 'date-row' });
  input?.replaceWith(row);
  if (input) row.append(input, make('span', { class: 'date-pick' }, make('span', { text: say('field.date_face'), attrs: { 'aria-hidden': 'true' } }), pick));
  return made;
}

/** The row of keys for lengths: feet, inches, between, fraction, millimetres. */
export function lengthKeys() {
  const keys = [["'", 'field.key_feet'], ['"', 'field.key_inches'], ['-', 'field.key_dash'], ['/', 'field.key_slash'], [' mm', 'field.key_mm']];
  return keys.map(([text, word]) => make('button', {
    class: 'key', text: say(`${word}_face`), attrs: { type: 'button', 'aria-label': say(word ?? '') },
    // The field keeps the focus, so that the phone's number pad stays where it is.
    on: { pointerdown: (event) => event.preventDefault(), click: () => typeIn(text ?? '') },
  }));
}

/** @param {string} text */
function typeIn(text) {
  if (!lengthInUse?.isConnected) return;
  const input = lengthInUse;
  input.focus();
  input.setRangeText(text, input.selectionStart ?? input.value.length, input.selectionEnd ?? input.value.length, 'end');
}

/**
 * One of several, as large buttons.
 * @param {{key: string, label: string, options: Option[], value: string | null | undefined, by?: string | null, hint?: string, remark?: string | null, doubt?: string | null, columns?: boolean, save: (value: string) => Promise<unknown>, quiet?: boolean}} field
 * @returns {HTMLElement}
 */
export function choice(field) {
  const id = newId('choice');
  const draft = refused.get(field.key);
  const wrong = make('p', { class: 'wrong', attrs: { id: `${id}-wrong`, role: 'alert' }, text: draft?.sentence ?? '' });
  const box = make('fieldset', { class: field.columns === false ? 'choice' : 'choice columns', key: field.key, attrs: { 'data-field': true, 'aria-describedby': `${id}-hint ${id}-wrong ${id}-by` } },
    make('legend', { text: field.label }),
    make('p', { class: 'hint', text: field.hint ?? '', attrs: { id: `${id}-hint` } }),
    make('div', { class: 'options' }, field.options.map((option) => {
      const radio = make('input', { attrs: { type: 'radio', name: id, value: option.value } });
      radio.checked = option.value === (draft?.text ?? field.value);
      const save = () => kept(field.key, option.value, box, wrong, () => field.save(option.value), field.quiet);
      radio.addEventListener('change', save);
      // Chosen and refused, it is chosen already: the same tap again changes nothing, and is meant all the same.
      radio.addEventListener('click', () => { if (refusedText(field.key) === option.value) save(); });
      return make('label', { class: 'option', key: `${field.key}=${option.value}` }, radio, make('span', null, option.label, option.hint ? make('small', { text: option.hint }) : null));
    })),
    below(id, wrong, field));
  return box;
}

/**
 * Yes or no.
 * @param {{key: string, label: string, value: boolean | null | undefined, hint?: string, by?: string | null, save: (yes: boolean) => Promise<unknown>, quiet?: boolean}} field
 */
export function yesNo(field) {
  return choice({
    ...field,
    value: field.value === null || field.value === undefined ? null : field.value ? 'yes' : 'no',
    options: [{ value: 'yes', label: say('field.yes') }, { value: 'no', label: say('field.no') }],
    save: (value) => field.save(value === 'yes'),
  });
}

/**
 * A choice that shows only its value until it is opened.
 * @param {Parameters<typeof choice>[0]} field
 */
export function foldedChoice(field) {
  const chosen = field.options.find((o) => o.value === field.value)?.label ?? field.value ?? '';
  const box = make('details', { class: 'folded', key: `${field.key}-folded` },
    make('summary', null, make('span', { text: field.label }), make('b', { text: chosen })),
    choice({ ...field, save: async (value) => { await field.save(value); box.open = false; } }));
  return box;
}

/**
 * Saves, and shows beside the field if that was refused.
 * @param {string} key @param {string} text @param {Element} field @param {Element} wrong
 * @param {() => Promise<unknown>} save @param {boolean} [quiet]
 */
function kept(key, text, field, wrong, save, quiet) {
  const mine = saving.then(() => keep(key, text, field, wrong, save, quiet));
  saving = mine.catch(() => {});
  return mine;
}

/** @param {string} key @param {string} text @param {Element} field @param {Element} wrong @param {() => Promise<unknown>} save @param {boolean} [quiet] */
async function keep(key, text, field, wrong, save, quiet) {
  const before = loaded;
  try {
    await save();
    refused.delete(key);
    wrong.textContent = '';
    field.removeAttribute('aria-invalid');
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refused.set(key, { text, sentence: error.sentence });
    wrong.textContent = local(error.sentence);
    field.setAttribute('aria-invalid', 'true');
    return;
  }
  if (!quiet && loaded === before) await refresh();
}

/**
 * A file to be read: a field of its own kind, since a file is not kept as a draft.
 * @param {string} key @param {string} label @param {string} accept @param {(file: File) => unknown} read
 */
export function fileField(key, label, accept, read) {
  const id = newId('file');
  const input = /** @type {HTMLInputElement} */ (make('input', { key, attrs: { id, type: 'file', accept } }));
  input.addEventListener('change', () => { const file = input.files?.[0]; if (file) read(file); });
  return make('div', { class: 'plain-field' }, make('label', { text: label, attrs: { for: id } }), input);
}
