/** Signing in at the office: who, and their PIN. */
import { Refused, ask, askFor } from '../parts/ask.js';
import { languagePart } from '../parts/language.js';
import { make, newId } from '../parts/make.js';
import { param, run, start } from '../parts/page.js';
import { say, wordOf, words } from '../parts/words.js';

/** @typedef {import('../parts/ask.js').Of<'hello'>} Hello */

let person = '';

/** @param {Hello} view */
function peoplePart(view) {
  const name = newId('person');
  return make('fieldset', {}, make('legend', { text: say('office.who') }), ...view.people.map((one) => make('label', { class: 'pick' },
    make('input', { key: one.id, attrs: { type: 'radio', name, value: one.id, checked: one.id === person }, on: { change: () => { person = one.id; } } }),
    make('span', {}, make('b', { text: one.name }), ' ', make('span', { class: 'quiet', text: one.roles.map((role) => wordOf('role', role)).join(', ') })))));
}

/** @param {Hello} view @param {HTMLElement} body */
function draw(view, body) {
  if (!view.people.length) body.append(make('p', { text: say('office.no_people') }));
  person ||= view.people.length === 1 ? view.people[0]?.id ?? '' : '';
  const pin = make('input', { key: 'pin', attrs: { id: 'pin', type: 'password', autocomplete: 'current-password' },
    on: { keydown: (event) => { if (event.key === 'Enter') run(() => signIn(pin.value)); } } });
  body.append(peoplePart(view), make('div', { class: 'plain-field' }, make('label', { text: say('office.pin'), attrs: { for: 'pin' } }), pin), languagePart());
}

/** @param {string} pin */
async function signIn(pin) {
  if (!pin) {
    document.getElementById('pin')?.focus();
    throw new Refused({ code: 'needs_pin', sentence: say('office.needs_pin'), field: 'pin' });
  }
  await ask({ kind: 'sign_in', person, pin });
  location.replace(/^\w+\.html(\?[^#]*)?$/.test(param('to')) ? param('to') : 'list.html');
}

await words();
start({
  open: true, title: say('office.sign_in'), load: () => askFor('hello', { kind: 'hello' }), draw,
  tray: () => [{ label: say('office.sign_in'), main: true, act: () => signIn(/** @type {HTMLInputElement} */ (document.getElementById('pin')).value) }],
});
