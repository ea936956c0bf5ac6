/**
 * All photos of a job: a grid that stays quick with several hundred, found by what they show, by when of the work,
 * by day, or by any word.
 */
import { askFor } from '../parts/ask.js';
import { foldedChoice, textField } from '../parts/fields.js';
import { make } from '../parts/make.js';
import { job, redraw, start } from '../parts/page.js';
import { large, small } from '../parts/photos.js';
import { day, say, words } from '../parts/words.js';
import { link } from '../parts/work.js';

/** @typedef {import('../parts/types/Photo.ts').Photo} Photo */
/** @typedef {import('../parts/types/PhotosView.ts').PhotosView} PhotosView */

/** Cells of a block: they fill its rows in each of the numbers of columns that photo.css has. */
const BLOCK = 12;

/** What is looked for; it goes with the page. */
const here = { find: '', of: '', when: '', day: '' };

/** @param {Photo} photo */
const dayOf = (photo) => (photo.taken ?? photo.at).slice(0, 10);
/** @param {Photo} photo */
const textOf = (photo) => [photo.shows, photo.name, photo.by, say(`photos.${photo.when}_word`), dayOf(photo), day(dayOf(photo)), ...photo.measured, ...photo.shapes.map(({ shape }) => shape.text)].join(' ').toLowerCase();

/** @param {Photo} photo */
const fits = (photo) => (!here.of || JSON.stringify(photo.of) === here.of) && (!here.when || photo.when === here.when) && (!here.day || dayOf(photo) === here.day)
  && here.find.toLowerCase().split(/\s+/).every((word) => textOf(photo).includes(word));

/** @param {'of' | 'when' | 'day'} name @param {string} label @param {{value: string, label: string}[]} options */
const filter = (name, label, options) => foldedChoice({ key: `filter-${name}`, label, value: here[name], options, quiet: true, save: async (value) => { here[name] = value; redraw(); } });

/** Cells in blocks, each laid out for itself: of several hundred only those that come into view are. @param {HTMLElement[]} cells */
function blocks(cells) {
  const all = [];
  for (let at = 0; at < cells.length; at += BLOCK) all.push(make('ul', { class: 'grid', attrs: { role: 'presentation' } }, cells.slice(at, at + BLOCK)));
  return all;
}

/** @param {PhotosView} view @param {HTMLElement} body */
function draw(view, body) {
  if (view.photos.length === 0) return body.append(make('p', { class: 'empty', text: say('photos.empty') }));
  const found = view.photos.filter(fits);
  const days = [...new Set(view.photos.map(dayOf))].sort();
  body.append(
    textField({ key: 'find', label: say('photos.find'), value: here.find, hint: say('photos.find_hint'), quiet: true, save: async (text) => { here.find = text; redraw(); } }),
    filter('of', say('photos.place'), [{ value: '', label: say('photos.any') }, ...view.places.filter((place) => place.photos > 0).map((place) => ({ value: JSON.stringify(place.of), label: `${place.words} (${place.photos})` }))]),
    filter('when', say('photos.when'), [{ value: '', label: say('photos.any_when') }, ...['before', 'during', 'after'].map((value) => ({ value, label: say(`photos.${value}_word`) }))]),
    days.length > 1 ? filter('day', say('photos.day'), [{ value: '', label: say('photos.any_day') }, ...days.map((value) => ({ value, label: day(value) }))]) : '',
    make('p', { class: 'hint', key: 'shown', attrs: { role: 'status' }, text: found.length ? say('photos.shown', { n: found.length, of: view.photos.length }) : say('photos.none_found') }),
    make('div', { class: 'grids', key: 'grid', attrs: { role: 'list' } }, blocks(found.map((photo, at) => make('li', { attrs: { role: 'listitem' } }, small(photo, () => large(found, at, job())), make('span', { class: 'caption', text: `${photo.shows}, ${say(`photos.${photo.when}_word`)}` }))))));
}

await words();
start({
  title: say('photos.title'),
  load: (id) => askFor('photos', { kind: 'photos', job: id }),
  draw,
  tray: () => [{ label: say('fold_out.title'), href: link('fold_out.html', { job: job() }) }, { label: say('photos.pair'), main: true, href: link('photo_pair.html', { job: job() }) }],
});
