/**
 * Before and after of one place: the after photo is taken from where the before photo was taken, guided by it, and
 * both are then seen side by side, split by a slider, or one through the other: laid over each other by matching, or
 * by two points in each where that is unsure.
 */
import { ask, askFor } from '../parts/ask.js';
import { guided } from '../parts/camera.js';
import { choice } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { picture, twice, words as wordsAt } from '../parts/over.js';
import { job, param, redraw, refresh, run, start, tell } from '../parts/page.js';
import { onPhone, photosFrom } from '../parts/phone.js';
import { Points, hundredths, pixels } from '../parts/points.js';
import { say, when, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/Photo.ts').Photo} Photo */
/** @typedef {import('../parts/types/PhotoOf.ts').PhotoOf} PhotoOf */
/** @typedef {import('../parts/types/PhotosView.ts').PhotosView} PhotosView */
/** @typedef {import('../parts/types/PhotoPlace.ts').PhotoPlace} PhotoPlace */
/** @typedef {import('../parts/types/PairAligned.ts').PairAligned} PairAligned */
/** @typedef {[number, number]} Px */

/** How the two are shown, how much of the later one, and which of several; -1 is the newest. */
const here = { how: 'swipe', share: 50, before: 0, after: -1 };

/** Points being put: two in the before photo, then the same in the after photo. @type {{stages: [Points, Points], which: 0 | 1, photos: [Photo, Photo]} | null} */
let putting = null;

/** Milliseconds until it is asked again how a pair lies that is being matched. */
const AGAIN = 300;

/** How each pair lies, asked once; null while it is looked for. @type {Map<string, PairAligned | null>} */
const aligned = new Map();

/** @param {Photo} before @param {Photo} after @returns {PairAligned | null} */
function alignment(before, after) {
  const key = before.sha256 + after.sha256;
  const known = aligned.get(key);
  if (known !== undefined || before.cannot_show || after.cannot_show) return known ?? null;
  aligned.set(key, null);
  const show = (/** @type {PairAligned} */ found) => {
    aligned.set(key, found);
    redraw();
  };
  const look = () => askFor('pair_aligned', { kind: 'pair_aligned', job: job(), before: before.sha256, after: after.sha256 })
    .then((found) => { if (found.by === 'later') setTimeout(look, AGAIN); else show(found); }, () => show({ by: 'unsure', a: 1, b: 0, at: [0, 0], taps: null }));
  look();
  return null;
}

/** What was found more has its photos before the repair there. @param {PhotosView} view @param {PhotoPlace} place @param {'before' | 'after'} at */
const photosOf = (view, place, at) => view.photos.filter((photo) => {
  const is = (/** @type {unknown} */ of) => JSON.stringify(photo.of) === JSON.stringify(of);
  return (photo.when === at && is(place.of)) || (at === 'before' && place.before_as !== null && is(place.before_as));
});

/** @param {PhotosView} view @returns {PhotoPlace | undefined} */
const chosen = (view) => view.places.find((place) => JSON.stringify(place.of) === param('of'));

/** Places with a pair, or with one still wanted. @param {PhotosView} view @param {HTMLElement} body */
function list(view, body) {
  const rows = view.places.filter((place) => place.of.of === 'unit' || place.of.of === 'mark').map((place) => {
    const [before, after] = [photosOf(view, place, 'before').length, photosOf(view, place, 'after').length];
    const lacks = [before ? '' : say('work.no_before'), after ? '' : say('work.no_after')].filter(Boolean).join(' ');
    return make('li', null, make('a', { class: 'row', attrs: { href: link('photo_pair.html', { job: job(), of: JSON.stringify(place.of) }) } },
      make('span', { text: place.words }), make('span', { class: lacks ? 'state' : 'quiet', text: lacks || say('photo_pair.of', { n: after, of: before }) })));
  });
  body.append(make('ul', { key: 'pairs' }, rows));
}

/** Which of several, with a way to the others. @param {Photo[]} photos @param {'before' | 'after'} at */
function pick(photos, at) {
  const now = here[at] < 0 ? photos.length - 1 : Math.min(here[at], photos.length - 1);
  const photo = photos[now];
  const step = (/** @type {number} */ by, /** @type {string} */ word) => make('button', { key: `${at}-${word}`, text: say(word), attrs: { type: 'button', disabled: !photos[now + by], 'aria-label': `${say(`photo_pair.${at}`)}: ${say(word)}` }, on: { click: () => { here[at] = now + by; redraw(); } } });
  return make('div', { class: 'bar', key: `pick-${at}` }, make('p', { class: 'grow' }, make('b', { text: say(`photo_pair.${at}`) }), photo ? `: ${when(photo.taken ?? photo.at)}, ${photo.by}` : ''),
    photos.length > 1 ? [step(-1, 'photos.earlier'), step(1, 'photos.later')] : null);
}

/** @param {Photo[]} photos @param {'before' | 'after'} at */
const now = (photos, at) => photos[here[at] < 0 ? photos.length - 1 : Math.min(here[at], photos.length - 1)];

/** Both in one frame: the later one split off by the slider, or seen through. @param {Photo} before @param {Photo} after */
function over(before, after) {
  const shown = picture(after, '');
  const lies = alignment(before, after);
  if (lies) {
    // As the core gives it: widths of the frame, from its upper left corner.
    const [x, y] = lies.at;
    shown.classList.add('laid');
    shown.style.transform = `translate(${x * 100}cqw, ${y * 100}cqw) matrix(${lies.a}, ${lies.b}, ${-lies.b}, ${lies.a}, 0, 0)`;
  }
  const later = make('div', { class: 'later' }, shown);
  const show = () => {
    if (here.how === 'swipe') later.style.clipPath = `inset(0 0 0 ${100 - here.share}%)`;
    else later.style.opacity = String(here.share / 100);
  };
  const slider = make('input', { key: 'share', attrs: { type: 'range', min: 0, max: 100, step: 5, value: here.share, 'aria-label': say('photo_pair.slider') }, on: { input: (event) => { here.share = Number(event.target.value); show(); } } });
  show();
  return make('div', { class: 'over-each', key: 'over' }, make('div', { class: 'frame' }, picture(before, `${say('photo_pair.before')}: ${before.shows}`), later),
    make('div', { class: 'ends', attrs: { 'aria-hidden': 'true' } }, make('span', { text: say('photo_pair.before') }), make('span', { text: say('photo_pair.after') })), slider);
}

/** @param {PhotosView} view @param {HTMLElement} body */
function draw(view, body) {
  const place = chosen(view);
  if (!place) return list(view, body);
  const [befores, afters] = [photosOf(view, place, 'before'), photosOf(view, place, 'after')];
  const [before, after] = [now(befores, 'before'), now(afters, 'after')];
  body.append(make('h2', { text: place.words }), input);
  if (!before) body.append(make('p', { class: 'note', text: say('photo_pair.none') }));
  if (before && !after) body.append(pick(befores, 'before'), picture(before, `${say('photo_pair.before')}: ${before.shows}`), make('p', { class: 'note', text: say('photo_pair.guide') }));
  if (!before && after) body.append(pick(afters, 'after'), picture(after, `${say('photo_pair.after')}: ${after.shows}`));
  if (!before || !after) return;
  if (putting) return drawPoints(body);
  const side = here.how === 'side';
  body.append(pick(befores, 'before'), pick(afters, 'after'),
    side ? make('div', { class: 'twin-sides', key: 'side' }, picture(before, `${say('photo_pair.before')}: ${before.shows}`), picture(after, `${say('photo_pair.after')}: ${after.shows}`)) : over(before, after),
    choice({ key: 'how', label: say('photo_pair.how'), value: here.how, quiet: true, options: ['swipe', 'through', 'side'].map((value) => ({ value, label: say(`photo_pair.${value}`) })), save: async (value) => { here.how = value; redraw(); } }),
    side || before.cannot_show || after.cannot_show ? '' : howItLies(before, after),
    here.how === 'through' ? make('p', { class: 'note', text: say('photo_pair.fits') }) : '');
}

/** What they are laid by, and the way to lay them by hand. @param {Photo} before @param {Photo} after */
function howItLies(before, after) {
  const lies = alignment(before, after);
  const word = !lies ? 'matching' : lies.by === 'taps' ? 'by_taps' : lies.by === 'match' ? 'by_match' : 'unsure';
  return make('section', { key: 'lies' }, make('p', { class: lies?.by === 'unsure' ? 'note' : 'hint', attrs: { role: 'status' }, text: say(`photo_pair.${word}`) }),
    make('div', { class: 'buttons' },
      make('button', { key: 'put-points', text: say('photo_pair.put_points'), attrs: { type: 'button', disabled: !lies }, on: { click: () => run(() => putPoints(before, after)) } }),
      lies?.by === 'taps' ? make('button', { key: 'match-again', text: say('photo_pair.match_again'), attrs: { type: 'button' }, on: { click: () => run(() => lay(before, after, null)) } }) : null));
}

/** @param {Photo} before @param {Photo} after @param {[Px, Px, Px, Px] | null} taps */
async function lay(before, after, taps) {
  await ask({ kind: 'align_pair', job: job(), before: before.sha256, after: after.sha256, taps });
  aligned.delete(before.sha256 + after.sha256);
  await refresh();
}

/** Opens both photos for their points. @param {Photo} before @param {Photo} after */
async function putPoints(before, after) {
  const kept = pixels(alignment(before, after)?.taps ?? []);
  const stage = async (/** @type {Photo} */ photo, /** @type {Px[]} */ points) => {
    const { size } = await askFor('photo', { kind: 'photo', job: job(), sha256: photo.sha256 });
    if (!size) return null;
    /** @type {Points} */
    const made = new Points({ sha256: photo.sha256, size: /** @type {Px} */ (size), alt: say('photo_pair.stage'), changed: redraw, draw: (place) => made?.points.flatMap((point, at) => {
      const [x, y] = place(point);
      return [...twice(`M${x - 7} ${y}a7 7 0 1 0 14 0a7 7 0 1 0 -14 0`), wordsAt([x + 10, y - 8], String(at + 1))];
    }) ?? [] });
    made.points = points;
    return made;
  };
  const stages = [await stage(before, kept.slice(0, 2)), await stage(after, kept.slice(2))];
  if (!stages[0] || !stages[1]) return;
  stages[0].at = 0;
  putting = { stages: [stages[0], stages[1]], which: 0, photos: [before, after] };
  redraw();
}

/** The photo whose points are put; under the after photo the points of the before photo are seen. @param {HTMLElement} body */
function drawPoints(body) {
  if (!putting) return;
  const { stages, which } = putting;
  const stage = stages[which];
  body.append(make('p', { class: 'question', key: 'question', attrs: { role: 'status' }, text: say(`photo_pair.point_${which ? 'after' : 'before'}_${stage.at + 1}`) }), stage.stage, stage.panel);
  stage.drawSoon();
  if (!which) return;
  stages[0].at = -1;
  body.append(make('h3', { text: say('photo_pair.before') }), stages[0].stage);
  stages[0].drawSoon();
}

/** @param {NonNullable<typeof putting>} now */
function pointsTray(now) {
  const stage = now.stages[now.which];
  const stop = () => { putting = null; redraw(); };
  const further = () => {
    if (stage.at === 0) stage.at = 1;
    else {
      now.which = 1;
      now.stages[1].at = 0;
    }
    redraw();
  };
  const last = now.which === 1 && stage.at === 1;
  const finish = async () => {
    const taps = /** @type {[Px, Px, Px, Px]} */ (now.stages.flatMap(({ points }) => hundredths(points.slice(0, 2))));
    putting = null;
    await lay(...now.photos, taps);
  };
  return [{ label: say('photo_pair.stop'), key: 'stop', act: stop },
    { label: say(last ? 'photo_pair.lay' : 'photo_draw.next'), key: 'next', main: true, disabled: !stage.points[stage.at], act: last ? finish : further }];
}

/** The camera, opened from the tray; the new photo is then looked at through the old one. */
const input = make('input', { class: 'unseen', attrs: { type: 'file', accept: 'image/*', capture: 'environment', tabindex: -1, 'aria-hidden': 'true', 'data-act': 'camera' } });
input.addEventListener('change', () => {
  const file = input.files?.[0];
  input.value = '';
  if (file) bringIn(file, file.name);
});

/** Keeps an after photo, which is then looked at through the before photo. @param {Blob} photo @param {string} name */
const bringIn = (photo, name) => run(async () => {
  await ask({ kind: 'add_photo', job: job(), of: JSON.parse(param('of')), when: 'after', name }, photo);
  Object.assign(here, { how: 'through', share: 50, after: -1 });
});

/** The phone's own camera. @param {string} name */
const fromPhone = (name) => run(async () => {
  const { kept, wrong } = await photosFrom('camera', { kind: 'add_photo', job: job(), of: JSON.parse(param('of')), when: 'after', name });
  if (kept) Object.assign(here, { how: 'through', share: 50, after: -1 });
  queueMicrotask(() => tell(wrong.join(' ')));
});

/** The camera with the before photo over it; the phone's own where there is none, or nothing to be guided by. @param {PhotosView} view @param {PhotoPlace} place */
async function take(view, place) {
  const before = now(photosOf(view, place, 'before'), 'before');
  const name = say('photo_pair.file', { unit: view.head.unit, at: new Date().toISOString().slice(0, 19).replace(/[^0-9]/g, '') });
  const other = () => (onPhone() ? fromPhone(name) : input.click());
  if (!before || before.cannot_show || !await guided(before, (photo) => bringIn(photo, name), other)) other();
}

/** @param {PhotosView} view */
function tray(view) {
  const place = chosen(view);
  const proof = { label: say('proof.title'), href: link('proof.html', { job: job() }) };
  if (place && putting) return pointsTray(putting);
  if (!place) return [{ label: say('photos.all'), href: link('photos.html', { job: job() }) }, proof];
  const there = photosOf(view, place, 'after').length > 0;
  return [{ label: say('photo_pair.title'), href: link('photo_pair.html', { job: job() }) }, proof, { label: say(there ? 'photo_pair.again' : 'photo_pair.take'), key: 'take', main: !there, act: () => { take(view, place); } }];
}

await words();
start({ title: say('photo_pair.title'), load: (id) => askFor('photos', { kind: 'photos', job: id }), draw, tray });
