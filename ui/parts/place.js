/** Where things lie: what was typed last is offered for the next thing as one tap, on whichever page it was typed. */
const KEY = 'bowseam-place';

/** What was typed last; nothing at first. */
export const lastPlace = () => sessionStorage.getItem(KEY) ?? '';

/** @param {string} place */
export function keepPlace(place) {
  if (place.trim()) sessionStorage.setItem(KEY, place.trim());
}
