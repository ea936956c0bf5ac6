/**
 * What only the phone can do, asked of the shell around the page (core/app/src/phone.rs says what there is): its own
 * camera and gallery, the screen kept on, a text handed to another app. In a browser nothing here is there, and whoever
 * asks does it in the browser's own ways. What bars and cut-outs of the screen cover is kept free for every page.
 */
import { Refused, asRefused, shell } from './ask.js';
import { make } from './make.js';
import { bytes, core, say } from './words.js';

/** @typedef {import('./types/Want.ts').Want} Want */
/** @typedef {import('./types/Given.ts').Given} Given */
/** @typedef {import('./types/Ask.ts').Ask} Ask */

/** Whether the page runs in the shell of an Android phone. */
export const onPhone = () => Boolean(shell()) && /Android/.test(navigator.userAgent);

/** @param {Want} what @returns {Promise<Given>} */
export async function want(what) {
  try {
    return /** @type {Given} */ (await /** @type {NonNullable<ReturnType<typeof shell>>} */ (shell()).core.invoke('phone', { want: what }));
  } catch (error) {
    throw asRefused(error);
  }
}

/** Photos from the phone's camera or gallery, kept by this ask; answers how many, and a sentence for each that was not. @param {'camera' | 'gallery'} from @param {Ask} ask @returns {Promise<{kept: number, wrong: string[]}>} */
export async function photosFrom(from, ask) {
  const given = await want({ what: from, ask });
  return given.what === 'photos' ? { ...given, wrong: given.wrong.map(core) } : { kept: 0, wrong: [] };
}

/**
 * The two ways in for photos on a phone: both stay where they are whatever one of them says.
 * @param {(name: string) => Ask} ask the ask that a photo is kept by @param {(kept: number, wrong: string[]) => unknown} done
 */
export function waysIn(ask, done) {
  const way = (/** @type {'camera' | 'gallery'} */ from, /** @type {string} */ word) => make('button', {
    class: 'act', key: `way-${from}`, text: say(word), attrs: { type: 'button', 'data-act': from },
    on: {
      click: async () => {
        try {
          const { kept, wrong } = await photosFrom(from, ask(say('photos.camera_name', { at: new Date().toISOString().slice(0, 19).replace(/[^0-9]/g, '') })));
          if (kept || wrong.length) await done(kept, wrong);
        } catch (error) {
          if (!(error instanceof Refused)) throw error;
          await done(0, [error.sentence]);
        }
      },
    },
  });
  return [way('camera', 'photos.take'), way('gallery', 'photos.gallery')];
}

/** @type {WakeLockSentinel | null} */
let lock = null;

/** The screen stays on while somebody works by this page with both hands, and goes off by itself again after. @param {boolean} on */
export async function keepAwake(on) {
  try {
    if (onPhone()) await want({ what: 'awake', on });
    else if (on) lock ??= await navigator.wakeLock.request('screen');
    else {
      await lock?.release();
      lock = null;
    }
  } catch {
    // A low battery or a browser without it: the screen goes off as it always does, and nothing is lost by it.
  }
}

/** Hands a text to another app of the phone as a file. @param {string} text @param {string} media @param {string} name */
export const share = (text, media, name) => want({ what: 'share', name, media, text });

/** Room and network of the phone, in words; nothing in a browser. @returns {Promise<string[]>} */
export async function phoneWords() {
  if (!onPhone()) return [];
  const state = await want({ what: 'state' });
  if (state.what !== 'state') return [];
  const network = state.metered ? (state.saver ? 'saver' : 'metered') : null;
  return [say('phone.free', { size: bytes(state.free) }), network ? say(`phone.${network}`) : ''].filter(Boolean);
}

/** Hands a packet that was made to another app of the phone. @param {string} name */
export const sharePacket = (name) => want({ what: 'share_packet', name });

/** Where the phone is, in words; asked for by a person's own press alone. @returns {Promise<string>} */
export async function position() {
  const at = await want({ what: 'position' });
  if (at.what !== 'position') return '';
  const side = (/** @type {number} */ degrees, /** @type {string} */ word) => `${Math.abs(degrees).toFixed(5)} ${say(`phone.${word}`)}`;
  return say('phone.position', { north: side(at.latitude, at.latitude < 0 ? 'south' : 'north'), east: side(at.longitude, at.longitude < 0 ? 'west' : 'east'), within: Math.ceil(at.within) });
}

/** What a barcode says; a letter I before the 17 of a vehicle's number belongs to the label (from memory). @returns {Promise<string>} */
export async function barcode() {
  const read = await want({ what: 'barcode' });
  return read.what === 'text' ? read.text.trim().replace(/^I(?=.{17}$)/, '') : '';
}

/** Keeps free what the phone's bars and cut-outs cover, as the shell says; a browser says it to the style sheet itself. */
export function keepEdgesFree() {
  const edges = /** @type {{sides: () => string} | undefined} */ (/** @type {any} */ (window).bowseamEdges);
  if (!edges) return;
  const set = () => {
    /** @type {number[]} */
    const sides = JSON.parse(edges.sides());
    for (const [at, side] of ['top', 'right', 'bottom', 'left'].entries()) document.documentElement.style.setProperty(`--edge-${side}`, `${sides[at] ?? 0}px`);
  };
  set();
  window.addEventListener('bowseam-edges', set);
}
