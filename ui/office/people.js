/** People of the shop: roles, what they are qualified for until when, PINs and passwords, and the end of their time here. */
import { ask, askFor } from '../parts/ask.js';
import { dateField, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { run, start, tell } from '../parts/page.js';
import { day, say, when, wordOf, words } from '../parts/words.js';

/** @typedef {import('../parts/ask.js').Of<'people'>} People */
/** @typedef {import('../parts/types/PersonRow.ts').PersonRow} PersonRow */
/** @typedef {import('../parts/types/Qualification.ts').Qualification} Qualification */
/** @typedef {import('../parts/types/TypedQualified.ts').TypedQualified} TypedQualified */

const ROLES = ['inspector', 'technician', 'supervisor'];
const QUALIFICATIONS = /** @type {Qualification[]} */ (['release', 'inspect', 'weld']);
/** Somebody new, until there is a name and a role. */
const fresh = { name: '', roles: /** @type {string[]} */ ([]) };

/** @param {PersonRow} person @returns {TypedQualified[]} */
const typedOf = (person) => person.qualified.map((own) => ({ for: own.for, until: own.until ?? '', note: own.note }));

/** @param {PersonRow} person @param {Partial<{name: string, roles: string[], qualified: TypedQualified[]}>} change */
const save = (person, change) => ask({ kind: 'set_person', person: person.id, name: person.name, roles: person.roles, qualified: typedOf(person), ...change });

/** @param {string} key @param {string} label @param {boolean} on @param {(on: boolean) => unknown} put */
const tick = (key, label, on, put) => make('label', { class: 'tick', key },
  make('input', { key: key + '/box', attrs: { type: 'checkbox', checked: on }, on: { change: (/** @type {Event} */ event) => put(/** @type {HTMLInputElement} */ (event.target).checked) } }), make('span', { text: label }));

/** @param {string[]} roles @param {string} role @param {boolean} on */
const withRole = (roles, role, on) => (on ? [...roles, role] : roles.filter((other) => other !== role));

/** @param {PersonRow} person */
function qualifiedPart(person) {
  return make('fieldset', null, make('legend', { text: say('people.qualified') }), ...QUALIFICATIONS.map((what) => {
    const own = person.qualified.find((one) => one.for === what);
    const others = typedOf(person).filter((one) => one.for !== what);
    const put = (/** @type {Partial<TypedQualified>} */ change) => save(person, { qualified: [...others, { for: what, until: own?.until ?? '', note: own?.note ?? '', ...change }] });
    return make('div', { key: `${person.id}/${what}` },
      tick(`${person.id}/${what}/has`, say('people.may_' + what), own !== undefined, (on) => run(() => (on ? put({}) : save(person, { qualified: others })))),
      own ? make('div', { class: 'three days', key: `${person.id}/${what}/more` },
        dateField({ key: `${person.id}/${what}/until`, label: say('people.until'), hint: say('people.until_hint'), value: own.until ?? '', remark: own.remark, save: (until) => put({ until }) }),
        textField({ key: `${person.id}/${what}/note`, label: say('people.shown_by'), hint: say('people.shown_by_hint'), value: own.note, save: (note) => put({ note }) })) : null);
  }));
}

/** A PIN or a password is typed once and never shown. @param {PersonRow} person @param {boolean} password */
function secretPart(person, password) {
  const name = password ? 'password' : 'pin';
  return textField({ key: `${person.id}/${name}`, label: say('people.' + name), hint: say(`people.${name}_hint`), value: '', type: 'password', inputmode: password ? 'text' : 'numeric',
    remark: say((password ? person.has_password : person.has_pin) ? 'people.is_set' : 'people.not_set'),
    save: async (secret) => { if (secret) { await ask({ kind: 'set_secret', person: person.id, secret, password }); tell(say('people.kept', { who: person.name })); } } });
}

/** @param {PersonRow} person */
function facts(person) {
  const roles = person.roles.map((role) => wordOf('role', role)).join(', ');
  const qualified = person.qualified.map((own) => make('span', { class: own.counts ? '' : 'ran-out', text: ` · ${say('people.may_' + own.for)}${own.until ? ` ${say('people.until_day', { day: day(own.until) })}` : ''}${own.counts ? '' : `: ${say('people.ran_out')}`}` }));
  return make('span', { class: 'quiet' }, roles, ...qualified);
}

/** @param {PersonRow} person */
function personPart(person) {
  if (person.ended) {
    return make('section', { class: 'card over', key: person.id }, make('b', { text: person.name }), make('p', { class: 'quiet', text: say('people.ended', { when: when(person.ended) }) }),
      make('button', { key: person.id + '/again', text: say('people.again'), attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'end_person', person: person.id, ended: false })) } }));
  }
  return make('details', { class: 'card', key: person.id }, make('summary', null, make('span', null, make('b', { text: person.name }), make('br'), facts(person))),
    textField({ key: person.id + '/name', label: say('people.name'), value: person.name, save: (name) => save(person, { name }) }),
    make('fieldset', null, make('legend', { text: say('people.roles') }), make('div', { class: 'who' }, ...ROLES.map((role) => tick(`${person.id}/${role}`, wordOf('role', role), person.roles.includes(role), (on) => run(() => save(person, { roles: withRole(person.roles, role, on) })))))),
    qualifiedPart(person),
    make('div', { class: 'three' }, secretPart(person, false), secretPart(person, true)),
    person.me ? null : make('button', { key: person.id + '/end', text: say('people.end'), attrs: { type: 'button' }, on: { click: () => run(() => ask({ kind: 'end_person', person: person.id, ended: true })) } }));
}

function newPart() {
  const name = make('input', { key: 'new/name', attrs: { id: 'new-name', value: fresh.name, autocomplete: 'off' }, on: { input: () => { fresh.name = name.value; } } });
  const add = async () => {
    await ask({ kind: 'set_person', person: null, name: fresh.name, roles: fresh.roles, qualified: [] });
    Object.assign(fresh, { name: '', roles: [] });
  };
  return make('details', { class: 'card', key: 'new' }, make('summary', { text: say('people.new') }),
    make('div', { class: 'plain-field' }, make('label', { text: say('people.name'), attrs: { for: 'new-name' } }), name),
    make('div', { class: 'who' }, ...ROLES.map((role) => tick('new/' + role, wordOf('role', role), fresh.roles.includes(role), (on) => { fresh.roles = withRole(fresh.roles, role, on); }))),
    make('button', { class: 'main', key: 'new/add', text: say('people.add'), attrs: { type: 'button' }, on: { click: () => run(add) } }));
}

/** @param {People} view @param {HTMLElement} body */
function draw(view, body) {
  if (view.remarks.length) body.append(make('section', { class: 'notice' }, make('ul', { class: 'listed' }, ...view.remarks.map((text) => make('li', { text })))));
  body.append(make('p', { class: 'hint', text: say('people.intro') }), ...view.people.map(personPart), newPart());
}

await words();
start({ title: say('screen.people'), load: () => askFor('people', { kind: 'people' }), draw, tray: () => [{ label: say('office.title'), href: 'list.html', main: true }] });
