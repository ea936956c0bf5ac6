/** Handover: what lacks and where to mend it, the packet, the release by a person who may, and how long to keep it. */
import { ask, askFor } from '../parts/ask.js';
import { draft, keepDraft, withDrafts } from '../parts/drafts.js';
import { textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { packetPart } from '../parts/packet.js';
import { job, refresh, start } from '../parts/page.js';
import { say, words } from '../parts/words.js';
import { lacksList, link } from '../parts/work.js';

/** @typedef {import('../parts/ask.js').Of<'hand_over'>} HandOver */


/** @param {HandOver} view */
function photosPart(view) {
  return make('section', { attrs: { 'aria-label': say('handover.photos') } }, make('h2', { text: say('handover.photos') }),
    make('p', { text: say('handover.photos_same', { n: view.photos_same }) }),
    view.photos_to_check ? make('p', { class: 'quiet', attrs: { role: 'status' }, text: say('handover.photos_to_check', { n: view.photos_to_check }) }) : null,
    view.photos_at_office ? make('p', { text: say('handover.photos_at_office', { n: view.photos_at_office }) }) : null,
    view.photos_changed.length ? lacksList(say('handover.photos_changed'), view.photos_changed) : null);
}

/** @param {HandOver} view */
function releasePart(view) {
  if (view.released) return make('section', { class: 'stand' }, make('p', { class: 'verdict-words', text: view.released }), view.handed_over ? make('p', { text: view.handed_over }) : null);
  if (!view.may_release) return make('p', { class: 'notice', text: say('handover.may_not') });
  return make('section', { attrs: { 'aria-label': say('handover.release') } }, make('h2', { text: say('handover.release') }), make('p', { text: say('handover.release_words') }),
    textField({ key: 'release-note', label: say('handover.note'), value: draft('release'), hint: say('handover.note_hint'), quiet: true, save: (text) => keepDraft('release', text) }));
}

/** @param {HandOver} view @param {HTMLElement} body */
function draw(view, body) {
  const parts = [
    view.lacks.length ? lacksList(say('handover.lacks'), view.lacks, view.lacks_where) : make('p', { class: 'verdict-words', text: say('handover.nothing_lacks') }),
    view.not_entered.length ? lacksList(say('handover.not_entered'), view.not_entered, view.not_entered.map(() => 'arrival')) : null,
    view.left_open.length ? lacksList(say('handover.left_open'), view.left_open) : null,
    releasePart(view),
    packetPart({ job: job(), lacks: view.lacks.length, read: true }),
    make('p', { text: view.keep_until }),
    photosPart(view),
    make('p', { class: 'quiet', text: say('handover.who_decides') }),
  ];
  for (const part of parts) if (part) body.append(part);
  if (view.photos_to_check) setTimeout(refresh, 0);
}

async function release() {
  await ask({ kind: 'release', job: job(), note: draft('release') });
  await keepDraft('release', '');
}

const handOver = () => ask({ kind: 'set_handed_over', job: job() });

/** @param {HandOver} view */
function tray(view) {
  const packet = { label: say('handover.packet'), href: link('packet.html', { job: job() }) };
  if (view.handed_over) return [packet, { label: say('handover.yard'), main: true, href: 'yard.html' }];
  if (view.released) return [packet, { label: say('handover.hand_over'), main: true, act: handOver }];
  if (view.lacks.length) return [packet, { label: say('proof.title'), main: true, href: link('proof.html', { job: job() }) }];
  return view.may_release ? [packet, { label: say('handover.release'), main: true, act: release }] : [packet];
}

await words();
start({ title: say('handover.title'), load: withDrafts((id) => askFor('hand_over', { kind: 'hand_over', job: id })), draw, tray });
