/** What a place on each face of the body is measured from, the way the core measures it. */
import { say } from './words.js';

/** @param {string} surface */
export const measuredFrom = (surface) => ({
  /** Its ends are offsets from the roadside edge, not stations. */ ends: ['nose', 'rear', 'inside_nose'].includes(surface),
  /** Its edges are offsets from the roadside edge, not heights. */ flat: ['roof', 'floor'].includes(surface),
});

/** A typed place in words, each measure with what it is taken from. @param {import('./types/TypedPlace.ts').TypedPlace} place */
export function placeWords({ surface, from, to, low, high }) {
  const { ends, flat } = measuredFrom(surface);
  return [say(ends ? 'place.along_edge' : 'place.along_station', { from, to }), say(flat ? 'place.across_offset' : 'place.across_height', { low, high })];
}
