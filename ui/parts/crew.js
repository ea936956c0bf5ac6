/** The crew plan: with the shop's people and with one more, who does what when. It is worked out when it is asked. */
import { askFor } from './ask.js';
import { textField } from './fields.js';
import { make } from './make.js';
import { run } from './page.js';
import { say } from './words.js';
import { lacksList, workingOf } from './work.js';

/** @typedef {import('./types/CrewPlan.ts').CrewPlan} CrewPlan */
/** @typedef {import('./types/PlanRow.ts').PlanRow} PlanRow */
/** @typedef {import('./ask.js').Of<'crew_plan'>} Shown */

/** @type {{temperature: string, shown: Shown | null}} */
const state = { temperature: '', shown: null };

/** Time in the bay and with the roof open, by the crew plan: said alike wherever it stands. @param {import('./types/InBay.ts').InBay} bay */
export const bayWords = (bay) => [say('crew.hours', { n: bay.people, hours: bay.hours }), say('crew.days', { n: bay.days }),
  bay.open_hours ? say('crew.open', { hours: bay.open_hours }) : ''].filter(Boolean).join(' · ');

/** @param {PlanRow} row */
const who = (row) => (row.people.length ? say('crew.who', { n: row.people.length, people: row.people.join(', ') }) : say('crew.nobody'));

/** @param {PlanRow} row */
const rowPart = (row) => make('li', null, make('b', { text: say('crew.at', { day: row.day, from: row.from, to: row.to }) }), ` ${row.title} · ${who(row)}`, row.of ? make('span', { class: 'quiet', text: ` · ${row.of}` }) : null);

/** @param {CrewPlan} plan */
function planPart(plan) {
  const words = [say('crew.hours', { n: plan.people, hours: plan.bay_hours }), say('crew.days', { n: plan.days }),
    plan.open_hours ? say('crew.open', { hours: plan.open_hours }) : '', plan.proven ? say('crew.proven') : say('crew.at_least', { hours: plan.at_least })].filter(Boolean).join(' · ');
  return make('details', { key: 'crew/' + plan.people }, make('summary', { text: words }), make('ol', { class: 'plan' }, ...plan.rows.map(rowPart)));
}

/** @param {string} job */
export function crewPart(job) {
  const work = async () => { state.shown = await askFor('crew_plan', { kind: 'crew_plan', job, temperature: state.temperature }); };
  const shown = state.shown;
  return make('details', { key: 'crew' }, make('summary', { text: say('crew.title') }),
    textField({ key: 'crew/temperature', label: say('crew.temperature'), hint: say('crew.temperature_hint'), value: state.temperature, quiet: true, save: async (text) => { state.temperature = text; state.shown = null; } }),
    make('button', { key: 'crew/work', class: 'button', text: say('crew.work'), attrs: { type: 'button' }, on: { click: () => run(work) } }),
    shown ? make('section', { attrs: { 'aria-label': say('crew.title') } },
      ...shown.plans.plans.map(planPart),
      shown.dry ? make('p', { class: 'note', text: shown.dry }) : null,
      shown.plans.lacks.length ? lacksList(say('crew.lacks'), shown.plans.lacks) : null,
      workingOf(say('figures.working'), shown.plans.basis, 'crew')) : null);
}
