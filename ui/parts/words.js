/**
 * Every visible word of the screens, from one message file a language (two files here, so that each half of the
 * screens keeps its own); numbers, dates, money and counts by the phone's locale. Sentences that the core makes are said
 * again by a table of their forms (`core_words.js`).
 */
import { speaker, spoken } from './core_words.js';

/** Languages that have message files, each by its own name, the locale of each where the phone's is of another, and the tables of what the core says. */
export const LANGUAGES = /** @type {const} */ ({
  en: { name: 'English', locale: 'en-US', core: [] },
  es: { name: 'Español', locale: 'es-US', core: ['steps', 'parts', 'figures', 'views', 'refusals', 'names', 'book'] },
});
/** @typedef {keyof typeof LANGUAGES} Language */
/** Where this phone keeps which of them was chosen on it; nobody's work hangs on it. */
const CHOSEN = 'bowseam-language';

/** @type {Record<string, string>} */
let table = {};
/** A sentence of the core in the language that is spoken. @type {(text: string) => string} */
export let core = (text) => text;
/** An answer of the core, what it says in the language that is spoken. @template {{kind: string}} T @param {T} answer @returns {T} */
export const inTongue = (answer) => (LANGUAGES[language].core.length ? spoken(answer, core) : answer);
/** @type {Promise<void> | null} */
let loading = null;
/** The one that is spoken: as it was chosen on this phone, else the first of the phone's own that there is. */
export const language = [chosen(), ...(navigator.languages ?? [navigator.language]).map((l) => l.slice(0, 2))].find(isLanguage) ?? 'en';
const own = tag(navigator.language);
const locale = own.slice(0, 2) === language ? own : LANGUAGES[language].locale;
const plural = new Intl.PluralRules(language);

/** @param {string} code @returns {code is Language} */
function isLanguage(code) {
  return code in LANGUAGES;
}

/** What was chosen on this phone, or nothing: a browser may refuse to keep anything. */
function chosen() {
  try {
    return localStorage.getItem(CHOSEN) ?? '';
  } catch {
    return '';
  }
}

/** Speaks another language from now on, on this phone. @param {string} code */
export function speak(code) {
  localStorage.setItem(CHOSEN, code);
  location.reload();
}

/** A language tag that can be used: a web view on a machine without a language names one that is none. @param {string} named */
function tag(named) {
  try {
    return Intl.getCanonicalLocales(named)[0] ?? 'en';
  } catch {
    return 'en';
  }
}

/** Loads the words; to be awaited before the first {@link say}. */
export function words() {
  loading ??= load();
  return loading;
}

async function load() {
  const read = async (/** @type {string[]} */ files) => Object.assign({}, ...await Promise.all(files.map(async (name) => {
    const response = await fetch(new URL(`../words/${name}.json`, import.meta.url));
    return response.ok ? response.json() : {};
  })));
  const [own, cores] = await Promise.all([read([language, `${language}_work`]), read(LANGUAGES[language].core.map((part) => `${language}_core_${part}`))]);
  table = own;
  if (LANGUAGES[language].core.length) {
    const speak = speaker(cores);
    core = (text) => speak(text).said;
  }
  document.documentElement.lang = language;
}

/** Whether there are words for a key. @param {string} key */
export const knows = (key) => key in table;

/**
 * The words of a key. `{name}` is filled from `args`; with a number `n` the form for its plural is taken.
 * @param {string} key
 * @param {Record<string, string | number>} [args]
 */
export function say(key, args = {}) {
  const form = typeof args.n === 'number' ? table[`${key}.${plural.select(args.n)}`] ?? table[`${key}.other`] : undefined;
  const text = form ?? table[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (_, name) => {
    const value = args[name];
    return typeof value === 'number' ? count(value) : value ?? '';
  });
}

/** The word of a value, or the value itself where there is none. @param {string} group @param {string} value */
export const wordOf = (group, value) => (knows(`${group}.${value}`) ? say(`${group}.${value}`) : value);

/** @param {number} n */
export const count = (n) => new Intl.NumberFormat(locale).format(n);

/** Money from a decimal as text. @param {string | null | undefined} decimal */
export function money(decimal) {
  if (decimal === null || decimal === undefined || decimal === '') return '';
  return new Intl.NumberFormat(locale, { style: 'currency', currency: 'USD', currencyDisplay: 'narrowSymbol' }).format(Number(decimal));
}

/** A time: only the clock on the same day, else day and clock. @param {string} iso */
export function when(iso) {
  const time = new Date(iso);
  const today = time.toDateString() === new Date().toDateString();
  return new Intl.DateTimeFormat(locale, today ? { timeStyle: 'short' } : { dateStyle: 'medium', timeStyle: 'short' }).format(time);
}

/** A day; a bare date stays the day it says. @param {string} iso */
export function day(iso) {
  const bare = /^\d{4}-\d{2}-\d{2}$/.test(iso);
  return new Intl.DateTimeFormat(locale, { dateStyle: 'medium', timeZone: bare ? 'UTC' : undefined }).format(new Date(iso));
}

/** A stretch of work as hours and minutes. @param {number} seconds */
export function duration(seconds) {
  const minutes = Math.floor(seconds / 60);
  const hours = Math.floor(minutes / 60);
  if (hours === 0) return say('unit.minutes', { m: minutes });
  return say('unit.hours_minutes', { h: hours, m: String(minutes % 60).padStart(2, '0') });
}

/** @param {number} n */
export function bytes(n) {
  if (n < 1_000_000) return say('unit.kb', { x: count(Math.ceil(n / 1000)) });
  return say('unit.mb', { x: new Intl.NumberFormat(locale, { maximumFractionDigits: n < 10_000_000 ? 1 : 0 }).format(n / 1_000_000) });
}
