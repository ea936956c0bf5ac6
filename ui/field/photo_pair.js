/**
 * Before and after of one place: the after photo is taken from where the before photo was taken, guided by it, and
 * both are then seen side by side, split by a slider, or one through the other.
 */
import { ask, askFor } from '../parts/ask.js';
import { guided } from '../parts/camera.js';
import { choice } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { picture } from '../parts/over.js';
import { job, param, redraw, run, start, tell } from '../parts/page.js';
import { onPhone, photosFrom } from '../parts/phone.js';
import { say, when, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/Photo.ts').Photo} Photo */
/** @typedef {import('../parts/types/PhotoOf.ts').PhotoOf} PhotoOf */
/** @typedef {import('../parts/types/PhotosView.ts').PhotosView} PhotosView */
/** @typedef {import('../parts/types/PhotoPlace.ts').PhotoPlace} PhotoPlace */

/** How the two are shown, how much of the later one, and which of several; -1 is the newest. */
const here = { how: 'swipe', share: 50, before: 0, after: -1 };

/** @param {PhotosView} view @param {PhotoOf} of @param {'before' | 'after'} at */
const photosOf = (view, of, at) => view.photos.filter((photo) => photo.when === at && JSON.stringify(photo.of) === JSON.stringify(of));

/** @param {PhotosView} view @returns {PhotoPlace | undefined} */
const chosen = (view) => view.places.find((place) => JSON.stringify(place.of) === param('of'));

/** Places with a pair, or with one still wanted. @param {PhotosView} view @param {HTMLElement} body */
function list(view, body) {
  const rows = view.places.filter((place) => place.of.of === 'unit' || place.of.of === 'mark').map((place) => {
    const [before, after] = [photosOf(view, place.of, 'before').length, photosOf(view, place.of, 'after').length];
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
  const later = picture(after, '');
  later.classList.add('later');
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
  const [befores, afters] = [photosOf(view, place.of, 'before'), photosOf(view, place.of, 'after')];
  const [before, after] = [now(befores, 'before'), now(afters, 'after')];
  body.append(make('h2', { text: place.words }), input);
  if (!before) body.append(make('p', { class: 'note', text: say('photo_pair.none') }));
  if (before && !after) body.append(pick(befores, 'before'), picture(before, `${say('photo_pair.before')}: ${before.shows}`), make('p', { class: 'note', text: say('photo_pair.guide') }));
  if (!before && after) body.append(pick(afters, 'after'), picture(after, `${say('photo_pair.after')}: ${after.shows}`));
  if (!before || !after) return;
  const side = here.how === 'side';
  body.append(pick(befores, 'before'), pick(afters, 'after'),
    side ? make('div', { class: 'twin-sides', key: 'side' }, picture(before, `${say('photo_pair.before')}: ${before.shows}`), picture(after, `${say('photo_pair.after')}: ${after.shows}`)) : over(before, after),
    choice({ key: 'how', label: say('photo_pair.how'), value: here.how, quiet: true, options: ['swipe', 'through', 'side'].map((value) => ({ value, label: say(`photo_pair.${value}`) })), save: async (value) => { here.how = value; redraw(); } }),
    here.how === 'through' ? make('p', { class: 'note', text: say('photo_pair.fits') }) : '');
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
  const before = now(photosOf(view, place.of, 'before'), 'before');
  const name = say('photo_pair.file', { unit: view.head.unit, at: new Date().toISOString().slice(0, 19).replace(/[^0-9]/g, '') });
  const other = () => (onPhone() ? fromPhone(name) : input.click());
  if (!before || before.cannot_show || !await guided(before, (photo) => bringIn(photo, name), other)) other();
}

/** @param {PhotosView} view */
function tray(view) {
  const place = chosen(view);
  const proof = { label: say('proof.title'), href: link('proof.html', { job: job() }) };
  if (!place) return [{ label: say('photos.all'), href: link('photos.html', { job: job() }) }, proof];
  const there = photosOf(view, place.of, 'after').length > 0;
  return [{ label: say('photo_pair.title'), href: link('photo_pair.html', { job: job() }) }, proof, { label: say(there ? 'photo_pair.again' : 'photo_pair.take'), key: 'take', main: !there, act: () => { take(view, place); } }];
}

await words();
start({ title: say('photo_pair.title'), load: (id) => askFor('photos', { kind: 'photos', job: id }), draw, tray });
