/**
 * The one door to the core: every screen asks here, whatever shell it runs in. In the phone's shell the ask goes
 * over its bridge, in a browser over loopback to the program that served the page. No answer is kept here, so
 * what a screen shows is always what the core holds.
 */

import { core, inTongue, say } from './words.js';

/** @typedef {import('./types/Answer.ts').Answer} Answer */
/** @typedef {import('./types/Ask.ts').Ask} Ask */
/** @typedef {import('./types/Refusal.ts').Refusal} Refusal */
/** @template {Answer['kind']} K @typedef {Extract<Answer, {kind: K}>} Of */

/** A change or question that was refused: a plain sentence, a stable code, and the field it is about. */
export class Refused extends Error {
  /** @param {Refusal} refusal */
  constructor(refusal) {
    const sentence = core(refusal.sentence);
    super(sentence);
    this.name = 'Refused';
    this.code = refusal.code;
    this.sentence = sentence;
    this.field = refusal.field;
  }
}

/**
 * The bridge of the phone's shell, if this page runs in it.
 * @returns {{core: {invoke: (name: string, body: unknown, options?: {headers: Record<string, string>}) => Promise<unknown>, convertFileSrc: (path: string) => string}} | undefined}
 */
export const shell = () => /** @type {any} */ (window).__TAURI__;

/** Pages of the office have their own door on the same program. */
export const atOffice = () => location.pathname.startsWith('/office/');

let photosFolder = '';
/** What was saved last, in words, until it is said. */
let saved = '';

/** What was saved since this was asked last, in words. */
export function takeSaved() {
  const words = saved;
  saved = '';
  return words;
}

/** @param {Ask} what */
function header(what) {
  let binary = '';
  for (const byte of new TextEncoder().encode(JSON.stringify(what))) binary += String.fromCharCode(byte);
  return btoa(binary).replace(/\+/g, '-').replace(/\//g, '_').replace(/=+$/, '');
}

/**
 * Asks the core.
 * @param {Ask} what
 * @param {Blob} [bytes] of a photo, beside the ask
 * @returns {Promise<Answer>}
 */
export async function ask(what, bytes) {
  const answer = inTongue(shell() ? await overBridge(what, bytes) : await overLoopback(what, bytes));
  if (answer.kind === 'hello') photosFolder = answer.photos ?? '';
  if (answer.kind === 'saved') saved = answer.words ?? saved;
  return answer;
}

/**
 * Asks and expects one kind of answer.
 * @template {Answer['kind']} K
 * @param {K} kind
 * @param {Ask} what
 * @returns {Promise<Of<K>>}
 */
export async function askFor(kind, what) {
  const answer = await ask(what);
  if (answer.kind !== kind) throw asRefused(null);
  return /** @type {Of<K>} */ (answer);
}

/** @param {Blob} bytes @returns {Promise<string>} */
const base64 = (bytes) => new Promise((done, failed) => {
  const reader = new FileReader();
  reader.addEventListener('load', () => done(String(reader.result).replace(/^[^,]*,/, '')));
  reader.addEventListener('error', () => failed(reader.error));
  reader.readAsDataURL(bytes);
});

/** @param {Ask} what @param {Blob} [bytes] @returns {Promise<Answer>} */
async function overBridge(what, bytes) {
  const core = /** @type {NonNullable<ReturnType<typeof shell>>} */ (shell()).core;
  try {
    // Nothing passes raw from a page to the core on Android: there the bytes go as text.
    const text = bytes && /Android/.test(navigator.userAgent);
    const told = bytes && !text
      ? await core.invoke('ask', new Uint8Array(await bytes.arrayBuffer()), { headers: { 'bowseam-ask': header(what) } })
      : await core.invoke('ask', bytes ? { ask: what, bytes: await base64(bytes) } : { ask: what });
    return /** @type {Answer} */ (told);
  } catch (error) {
    throw asRefused(error);
  }
}

/** @param {Ask} what @param {Blob} [bytes] @returns {Promise<Answer>} */
async function overLoopback(what, bytes) {
  /** @type {Record<string, string>} */
  const headers = { bowseam: '1', 'content-type': bytes ? 'application/octet-stream' : 'application/json' };
  if (bytes) headers['bowseam-ask'] = header(what);
  /** @type {Response} */
  let response;
  try {
    response = await fetch(atOffice() ? '/office/ask' : '/ask', { method: 'POST', headers, body: bytes ?? JSON.stringify(what) });
  } catch {
    throw new Refused({ code: 'no_door', sentence: say('page.no_door'), field: null });
  }
  /** @type {any} */
  let told;
  try {
    told = await response.json();
  } catch {
    throw asRefused(null);
  }
  if (!response.ok) throw asRefused(told);
  return told;
}

/** @param {any} error @returns {Refused} */
export function asRefused(error) {
  if (error && typeof error.sentence === 'string') return new Refused(error);
  return new Refused({ code: 'no_door', sentence: say('page.no_answer'), field: null });
}

/**
 * Address of a photo.
 * @param {string} sha256
 * @param {'small' | 'large' | 'original'} size
 */
export function photoUrl(sha256, size) {
  const bridge = shell();
  // The shell shows files: copies lie in copies/SIZE, originals in folders by the first two letters of their name.
  const file = size === 'original' ? `originals/${sha256.slice(0, 2)}/${sha256}` : `copies/${size}/${sha256}.jpg`;
  if (bridge && photosFolder) return bridge.core.convertFileSrc(`${photosFolder}/${file}`);
  return `${atOffice() ? '/office' : ''}/photo/${sha256}/${size}`;
}
