/** The choice of this phone's language: a phone is passed around, and whoever takes it up reads its own name there. */
import { choice } from './fields.js';
import { LANGUAGES, language, say, speak } from './words.js';

export const languagePart = () => choice({
  key: 'language', label: say('page.language'), value: language, quiet: true,
  options: Object.entries(LANGUAGES).map(([value, { name }]) => ({ value, label: name })),
  save: async (value) => speak(value),
});
