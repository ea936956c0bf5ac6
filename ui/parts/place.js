/** Where things lie: what was typed last is offered for the next thing as one tap, on whichever page it was typed. */
import { make } from './make.js';
import { run } from './page.js';
import { say } from './words.js';

const KEY = 'bowseam-place';

/** What was typed last; nothing at first. */
const lastPlace = () => sessionStorage.getItem(KEY) ?? '';

/** @param {string} place */
export function keepPlace(place) {
  if (place.trim()) sessionStorage.setItem(KEY, place.trim());
}

/** It lies where the last one does; nothing at first. @param {string} key @param {string} what @param {(place: string) => Promise<unknown>} set */
export function there(key, what, set) {
  const place = lastPlace();
  if (!place) return null;
  const label = say('buying.there', { place });
  return make('button', { class: 'button', key: `${key}/there`, attrs: { type: 'button', 'aria-label': `${label}: ${what}` }, on: { click: () => run(() => set(place)) } }, label);
}
