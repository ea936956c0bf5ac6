/** Repair or retire: the repair as a share of the unit's value, with its working, and the value to be entered. */
import { ask, atOffice } from './ask.js';
import { textField } from './fields.js';
import { make } from './make.js';
import { money, say } from './words.js';
import { workingOf } from './work.js';

/** @param {import('./types/Figures.ts').Figures} view */
export function retirePart(view) {
  const { unit_value: value, retire } = view;
  if (!retire && atOffice()) return null;
  const job = view.head.job;
  return make('section', { key: 'retire', attrs: { 'aria-label': say('retire.title') } }, make('h2', { text: say('retire.title') }),
    retire ? make('p', { text: retire.words }) : make('p', { class: 'quiet', text: say('retire.lacks') }),
    retire ? make('p', { class: 'quiet', text: say('retire.limit', { limit: money(retire.limit) }) }) : null,
    retire ? workingOf(say('figures.working'), retire.basis, 'retire') : null,
    atOffice() ? null : textField({
      key: 'unit-value', label: say('arrival.value'), hint: say('arrival.value_hint'), value: value.value, by: value.by ?? null, inputmode: 'decimal',
      save: (text) => ask({ kind: 'set_arrival', job, field: 'value', value: text }),
    }));
}
