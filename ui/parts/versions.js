/** Two versions of the figures held against each other, to the last line, with why. */
import { askFor } from './ask.js';
import { choice } from './fields.js';
import { make } from './make.js';
import { redraw, run } from './page.js';
import { money, say, when } from './words.js';
import { changedList } from './work.js';

/** @typedef {import('./types/Figures.ts').Figures} Figures */
/** @typedef {import('./types/Version.ts').Version} Version */
/** @typedef {import('./ask.js').Of<'compared_figures'>} Compared */

/** What is chosen, and what was shown for it. @type {{was: string | null, now: string | null, shown: Compared | null}} */
const state = { was: null, now: null, shown: null };

/** @param {Version} version */
const name = (version) => (version.at ? say('versions.asked', { who: version.by ?? '', when: when(version.at) }) : say('versions.now'));

/** @param {Version} version */
const option = (version) => ({ value: version.hash || 'now', label: name(version), hint: [money(version.total), version.answer].filter(Boolean).join(' · ') });

/** @param {Figures} view */
export function versionsPart(view) {
  const all = view.versions;
  if (all.length < 2) return null;
  const key = (/** @type {Version | undefined} */ version) => version?.hash || 'now';
  const [now, was] = [state.now ?? key(all[0]), state.was ?? key(all[1])];
  const hash = (/** @type {string} */ value) => (value === 'now' ? '' : value);
  const compare = async () => {
    state.shown = await askFor('compared_figures', { kind: 'compare_figures', job: view.head.job, was: hash(was), now: hash(now) });
  };
  const pick = (/** @type {'was' | 'now'} */ side, /** @type {string} */ value) => choice({
    key: `versions-${side}`, label: say(side === 'was' ? 'versions.was' : 'versions.to'), columns: false, quiet: true, value, options: all.map(option),
    save: async (picked) => { state[side] = picked; state.shown = null; redraw(); },
  });
  const shown = state.shown;
  return make('details', { key: 'versions' }, make('summary', { text: say('versions.title') }),
    pick('was', was), pick('now', now),
    make('button', { key: 'versions/show', class: 'button', text: say('versions.show'), attrs: { type: 'button' }, on: { click: () => run(compare) } }),
    shown ? make('section', { attrs: { 'aria-label': say('work.changed') } },
      make('p', { text: say('versions.between', { was: name(shown.was), now: name(shown.now) }) }),
      shown.changed.length ? changedList(shown.changed, true) : make('p', { text: say('versions.same') })) : null);
}
