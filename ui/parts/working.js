/** A number that opens to its working: the inputs, the rule, and where each value comes from. */
import { make } from './make.js';
import { say, wordOf } from './words.js';

/** @typedef {import('./types/Standing.ts').Standing} Standing */
/** @typedef {import('./types/Basis.ts').Basis} Basis */

/** Where a value comes from, in words; a published one with its source. @param {Standing | null | undefined} standing */
export function standingWord(standing) {
  if (!standing) return '';
  if (standing.from === 'published') return say('standing.published', { source: standing.source });
  return wordOf('standing', standing.from);
}

/**
 * A row with a number that opens to its working.
 * @param {{label: string, value: string, basis?: Basis[], standing?: Standing | null, more?: string | null, key?: string}} row
 * @returns {HTMLElement}
 */
export function figure({ label, value, basis = [], standing, more, key }) {
  const head = [make('span', { class: 'what', text: label }), make('output', { class: 'number', text: value })];
  if (basis.length === 0 && !more && !standing) return make('div', { class: 'figure plain', key: key ?? `figure-${label}` }, head);
  return make('details', { class: 'figure', key: key ?? `figure-${label}` },
    make('summary', null, head),
    make('div', { class: 'working' },
      make('ul', null, basis.map((step) => make('li', null, make('b', { text: step.value }), ` ${step.what} `, make('i', { text: standingWord(step.standing) })))),
      more ? make('p', { text: more }) : null,
      standing ? make('p', null, `${say('standing.from')} `, make('i', { text: standingWord(standing) })) : null));
}
