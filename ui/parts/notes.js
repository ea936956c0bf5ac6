/** Notes of one shift for the next, on Steps and at the office: the newest stands open, the others fold away. */
import { ask } from './ask.js';
import { textField } from './fields.js';
import { make } from './make.js';
import { say, when } from './words.js';

/** @typedef {import('./types/NoteRow.ts').NoteRow} NoteRow */

/** @param {string} job @param {NoteRow} note */
const noteRow = (job, note) => make('li', { class: 'note', key: 'note/' + note.id },
  make('p', { text: note.text }), make('p', { class: 'quiet', text: say('work.by_at', { who: note.by, when: when(note.at) }) }),
  note.own ? make('details', { key: 'note-own/' + note.id }, make('summary', { text: say('notes.change') }),
    textField({ key: 'note-text/' + note.id, label: say('notes.text'), hint: say('notes.empty_hint'), value: note.text, lines: 2, save: (text) => ask({ kind: 'set_note', job, note: note.id, text }) })) : null);

/** @param {string} job @param {NoteRow[]} notes */
export function notesPart(job, notes) {
  const [newest, ...older] = notes;
  return make('section', { attrs: { 'aria-label': say('notes.title') } }, make('h2', { class: 'lesser', text: say('notes.title') }),
    newest ? make('ul', null, noteRow(job, newest)) : null,
    older.length ? make('details', { key: 'notes-older' }, make('summary', { text: say('notes.older', { n: older.length }) }), make('ul', { class: 'notes' }, ...older.map((note) => noteRow(job, note)))) : null,
    textField({ key: 'note-new', label: say('notes.new'), hint: say('notes.hint'), value: '', lines: 2, save: (text) => ask({ kind: 'set_note', job, note: null, text }) }));
}
