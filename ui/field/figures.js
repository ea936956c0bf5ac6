/**
 * Figures: takeoff, hours, price and range, every number opening to its working; where they stand with the
 * office, with what changed if that was for other figures; found more with their own go-aheads.
 */
import { askFor } from '../parts/ask.js';
import { withDrafts } from '../parts/drafts.js';
import { estimateView } from '../parts/estimate.js';
import { make } from '../parts/make.js';
import { job, start } from '../parts/page.js';
import { bayWords, crewPart } from '../parts/crew.js';
import { retirePart } from '../parts/retire.js';
import { versionsPart } from '../parts/versions.js';
import { money, say, words } from '../parts/words.js';
import { answerField, askAgain, begin, foundList, goAheadBox, holdPart, lacksList, link } from '../parts/work.js';

/** @typedef {import('../parts/ask.js').Of<'figures'>} Figures */

/** The draft of the answer to what the office asked. */
const ANSWER = 'answer';

/** @param {Figures} view @param {HTMLElement} body */
function draw(view, body) {
  if (!view.estimate) {
    body.append(make('p', { class: 'empty', text: say('figures.empty') }));
    if (view.lacks.length) body.append(lacksList(say('figures.lacks'), view.lacks));
    return;
  }
  // What lacks stands once, in the estimate's own list as far as it is there.
  const plain = (/** @type {string} */ text) => text.replace(/\.$/, '');
  const inside = view.estimate.lacks.map(plain);
  const lacks = view.lacks.filter((text) => !inside.includes(plain(text)));
  const parts = [
    goAheadBox(view.go_ahead),
    answerField(view.go_ahead, ANSWER),
    lacks.length ? lacksList(say('figures.lacks'), lacks) : null,
    estimateView(view.estimate, view.given),
    view.in_bay ? make('p', { text: say('figures.in_bay', { words: bayWords(view.in_bay) }) }) : null,
    crewPart(job()),
    retirePart(view),
    versionsPart(view),
    view.supplements.length ? foundList(view.supplements, job()) : null,
    view.agreed_total ? make('p', { class: 'total-row' }, make('span', { text: say('figures.agreed') }), make('span', { class: 'money', text: money(view.agreed_total) })) : null,
    view.hash ? make('p', { class: 'quiet hash', text: say('figures.hash', { hash: view.hash }) }) : null,
    holdPart(view.head),
  ];
  for (const part of parts) if (part) body.append(part);
}

/** @param {Figures} view */
function tray(view) {
  const ways = { label: say('ways.title'), href: link('ways.html', { job: job() }) };
  const cut = { label: say('cut_list.title'), href: link('cut_list.html', { job: job() }) };
  if (!view.estimate) return [{ ...ways, main: true }];
  const found = view.supplements.find((row) => row.go_ahead.state === 'none');
  if (found) return [cut, { label: say('figures.to_found'), main: true, href: link('found_more.html', { job: job(), found: found.id }) }];
  const askNow = { label: say('figures.ask'), main: true, act: () => askAgain(ANSWER, null) };
  switch (view.go_ahead.state) {
    case 'none': return [cut, askNow];
    case 'sent_back': return [ways, { ...askNow, label: say('figures.ask_again') }];
    case 'stale': return [cut, { ...askNow, label: say('figures.ask_again') }];
    case 'go_ahead': return [cut, { ...begin(view.head), main: true }];
    default: return [ways, { ...cut, main: true }];
  }
}

await words();
start({ title: 'figures.title', load: withDrafts((/** @type {string} */ id) => askFor('figures', { kind: 'figures', job: id })), draw, tray });
