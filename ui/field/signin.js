/** Sign in: who is here. A phone is passed around in a shop; every change carries the name of who made it. */
import { ask } from '../parts/ask.js';
import { choice, textField } from '../parts/fields.js';
import { languagePart } from '../parts/language.js';
import { make } from '../parts/make.js';
import { hello, param, run, start } from '../parts/page.js';
import { say } from '../parts/words.js';

let person = '';
let pin = '';

/** Only a screen of these pages, never an address from elsewhere. */
function back() {
  const to = param('to');
  return /^[a-z_]+\.html(\?[\w=&%.,:"{}+-]*)?$/.test(to) && !to.startsWith('signin') ? to : 'yard.html';
}

async function enter() {
  const typed = /** @type {HTMLInputElement | null} */ (document.querySelector('input[type=password]'));
  await ask({ kind: 'sign_in', person, pin: typed?.value ?? pin });
  location.replace(back());
}

start({
  title: 'signin.title',
  open: true,
  load: async () => hello(),
  draw: (view, body) => {
    if (view.people.length === 0) {
      body.append(make('p', { class: 'empty', text: say('signin.nobody') }), languagePart());
      return;
    }
    person ||= view.people.length === 1 ? view.people[0].id : '';
    body.append(
      choice({
        key: 'person', label: say('signin.who'), value: person, quiet: true,
        options: view.people.map((/** @type {import('../parts/types/Person.ts').Person} */ p) => ({ value: p.id, label: p.name, hint: p.roles.map((role) => say(`role.${role}`)).join(', ') })),
        save: async (id) => { person = id; },
      }),
      textField({ key: 'pin', label: say('signin.pin'), value: '', type: 'password', inputmode: 'numeric', hint: say('signin.pin_hint'), quiet: true, save: async (text) => { pin = text; } }),
      languagePart());
    body.querySelector('input[type=password]')?.addEventListener('keydown', (event) => {
      if (/** @type {KeyboardEvent} */ (event).key === 'Enter') run(enter);
    });
  },
  tray: (view) => (view.people.length === 0 ? [{ label: say('signin.to_outbox'), href: 'outbox.html', main: true }] : [{ label: say('signin.enter'), act: enter, main: true }]),
});
