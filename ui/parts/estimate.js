/** An estimate drawn: takeoff lines that open to their working, money, hours by task, the range in words and as a span. */
import { make, makeSvg } from './make.js';
import { core, money, say } from './words.js';
import { figure } from './working.js';
import { unpriced } from './whole.js';
import { from, lacksList, workingOf } from './work.js';

/** @typedef {import('./types/Estimate.ts').Estimate} Estimate */
/** @typedef {import('./types/PartGiven.ts').PartGiven} PartGiven */

const WIDTH = 320;

/** Where an amount lies on the span's drawing, with a tenth of it free at both ends. @param {number} amount @param {number} low @param {number} high */
const along = (amount, low, high) => 32 + ((amount - low) / Math.max(high - low, 0.01)) * (WIDTH - 64);

/** The span from low to high, hatched, with the total's own mark, which may lie outside. @param {number} low @param {number} total @param {number} high */
function spread(low, total, high) {
  const [least, most] = [Math.min(low, total), Math.max(high, total)];
  const [left, right, at] = /** @type {[number, number, number]} */ ([low, high, total].map((amount) => along(amount, least, most)));
  const hatch = [];
  for (let x = left; x < right; x += 6) hatch.push(`M${x} 34L${Math.min(x + 12, right)} 22`);
  return makeSvg('svg', { class: 'spread', attrs: { viewBox: `0 0 ${WIDTH} 44`, preserveAspectRatio: 'none', 'aria-hidden': 'true' } },
    makeSvg('path', { class: 'span', attrs: { d: hatch.join(''), fill: 'none' } }),
    makeSvg('path', { class: 'span', attrs: { d: `M${left} 22H${right}V34H${left}Z`, fill: 'none' } }),
    makeSvg('path', { class: 'base', attrs: { d: `M0 34H${WIDTH}` } }),
    makeSvg('path', { class: 'at', attrs: { d: `M${at} 10V34` } }));
}

/** @param {string} quantity @param {string} unit */
function amountOf(quantity, unit) {
  if (unit === 'each') return quantity;
  // An area is read in square feet or metres; the working has it in the unit that it was figured in.
  const large = unit === 'in²' ? { by: 144, unit: 'sq ft' } : unit === 'mm²' ? { by: 1e6, unit: 'm²' } : null;
  return large ? say('figures.quantity', { quantity: (Number(quantity) / large.by).toFixed(2), unit: large.unit }) : say('figures.quantity', { quantity, unit: core(unit) });
}

/** A line that needs nothing says why, and is left out where there is no reason. @param {import('./types/Line.ts').Line} line @param {string} key */
function lineRow(line, key) {
  if (Number(line.quantity) !== 0) return figure({ key, label: line.item, value: amountOf(line.quantity, line.unit), basis: line.basis, standing: line.standing, more: line.more });
  return line.more ? figure({ key, label: `${line.item}: ${line.more}`, value: say('figures.none'), basis: line.basis, standing: line.standing }) : null;
}

/** @param {Estimate} estimate @param {PartGiven | null} given */
const takeoff = (estimate, given) => estimate.groups.map((group) => make('section', { key: 'group/' + group.group }, make('h2', { text: group.title }),
  make('p', { class: 'quiet', text: [group.way_title, group.people ? say('ways.people', { n: group.people }) : ''].filter(Boolean).join(' · ') }),
  given?.waits.includes(group.title) ? make('p', { class: 'note', text: say('figures.waits_group') }) : null,
  group.note ? make('p', { text: group.note }) : null,
  ...group.lines.map((line, at) => lineRow(line, `figure-${group.group}-${at}`))));

/** A sum that opens to what is added up. @param {string} word @param {string} amount @param {Node[]} rows */
function sum(word, amount, rows) {
  const head = [make('span', { class: 'what', text: say('figures.' + word) }), make('output', { class: 'number', text: money(amount) })];
  if (!rows.length) return make('div', { class: 'figure plain' }, head);
  return make('details', { class: 'figure', key: 'sum/' + word }, make('summary', null, head), ...rows);
}

/** @param {string} title @param {string} amount @param {string[]} facts @param {Node} more */
const moneyRow = (title, amount, facts, more) => make('div', { class: 'book-row' }, make('span', { text: title }), make('b', { text: money(amount) }),
  make('span', { class: 'quiet' }, facts.filter(Boolean).join(' · '), ' ', more));

/** @param {Estimate} estimate */
function material(estimate) {
  return estimate.groups.flatMap((group) => group.goods).map((line) => moneyRow(line.item, line.amount, [
    say('figures.priced', { quantity: amountOf(line.quantity, line.unit), price: money(line.unit_price) }), line.taxed ? '' : say('figures.untaxed'), line.by_hand ? say('ways.by_hand') : '',
  ], from(line.standing)));
}

/** @param {Estimate} estimate */
function labour(estimate) {
  const tasks = [...estimate.groups.flatMap((group) => group.hours), ...estimate.once];
  return tasks.map((task, at) => moneyRow(task.title, task.amount, [
    say('figures.hours_of', { hours: task.hours }), say('figures.rate', { rate: money(task.rate) }), task.taxed ? '' : say('figures.untaxed'), task.by_hand ? say('ways.by_hand') : '',
  ], task.basis.length ? workingOf(say('figures.working'), task.basis, `task/${at}`) : make('span')));
}

/** What old damage adds, since somebody else may pay for it. @param {Estimate['old_damage']} old */
function oldDamage(old) {
  if (!old) return null;
  const { without, adds, basis } = old;
  return make('div', { key: 'old_damage' },
    make('p', { class: 'note', text: without && adds ? say('figures.old_damage', { without: money(without), adds: money(adds) }) : say('figures.old_damage_mixed') }),
    workingOf(say('figures.working'), basis, 'old_damage'));
}

/** What is given of figures of which only a part is, with what waits. @param {Estimate} estimate @param {PartGiven} given */
const givenPart = (estimate, given) => make('section', { key: 'total' },
  make('p', { class: 'total-row' }, make('span', { text: say('figures.given') }), make('span', { class: 'money', text: money(given.amount) })),
  given.ceiling ? make('p', { class: 'note', text: givenOf(estimate, given) }) : null,
  make('p', { text: given.titles.join('; ') }),
  make('p', { class: 'note', text: say('figures.waits', { titles: given.waits.join('; '), amount: money(given.waits_amount), total: money(estimate.total) }) }));

/** What is given at another sum than the figures, or up to a ceiling. @param {Estimate} estimate @param {PartGiven} given */
const givenOf = (estimate, given) => (given.ceiling && given.under_ceiling
  ? say('figures.ceiling', { ceiling: money(given.ceiling), left: money(given.under_ceiling) })
  : say('figures.given_of', { total: money(estimate.total) }));

/** Total or what is given of it, with where it is expected to end. @param {Estimate} estimate @param {PartGiven | null} given */
function totalPart(estimate, given) {
  // What a found more adds has no range of its own; before rules 6 it had one that nobody drew.
  const { low, high, basis } = estimate.range ?? { low: '', high: '', basis: [] };
  const drawn = basis.length > 0;
  return make('section', { key: 'total' },
    make('p', { class: 'total-row' }, make('span', { text: say(given ? 'figures.given' : 'figures.total') }), make('span', { class: 'money', text: money(given ? given.amount : estimate.total) })),
    given ? make('p', { class: 'note', text: givenOf(estimate, given) }) : null,
    unpriced(estimate.groups.filter((group) => group.way === 'ask_the_maker').length),
    drawn ? spread(Number(low), Number(estimate.total), Number(high)) : null,
    drawn ? make('p', { class: 'spread-words' }, ...[low, high, estimate.total].sort((a, b) => Number(a) - Number(b)).map((amount) => make(amount === estimate.total ? 'b' : 'span', { text: money(amount) }))) : null,
    oldDamage(estimate.old_damage),
    drawn ? make('p', { text: say('figures.range', { low: money(low), high: money(high) }) }) : null,
    drawn ? workingOf(say('figures.range_working'), basis) : null);
}

/** The whole estimate, headed by what is given of it. @param {Estimate} estimate @param {PartGiven | null} [given] */
export function estimateView(estimate, given = null) {
  // What was not measured stands in its own list below.
  const warnings = estimate.warnings.filter((warning) => !estimate.not_measured.some((measure) => warning.endsWith(`${measure}.`) || warning.endsWith(measure)));
  return make('div', { class: 'estimate', key: 'estimate' },
    given?.waits.length ? givenPart(estimate, given) : totalPart(estimate, given),
    warnings.length ? lacksList(say('figures.warnings'), warnings) : null,
    estimate.lacks.length ? lacksList(say('figures.lacks'), estimate.lacks) : null,
    ...takeoff(estimate, given),
    make('h2', { text: say('figures.money') }),
    sum('material', estimate.material, material(estimate)),
    sum('labour', estimate.labour, labour(estimate)),
    make('p', { class: 'quiet', text: say('figures.total_hours', { hours: estimate.total_hours }) }),
    figure({ key: 'sum/supplies', label: say('figures.supplies'), value: money(estimate.supplies), basis: estimate.supplies_basis }),
    figure({ key: 'sum/tax', label: say('figures.tax'), value: money(estimate.tax), basis: estimate.tax_basis }), sum('total', estimate.total, []),
    figure({ key: 'allowance', label: say('figures.allowance'), value: money(estimate.allowance.amount), basis: estimate.allowance.basis }),
    estimate.not_measured.length ? make('p', { class: 'note', text: say('figures.not_measured', { measures: estimate.not_measured.join(', ') }) }) : null,
    make('p', { class: 'quiet', text: say('figures.rules', { version: estimate.rules_version }) }));
}
