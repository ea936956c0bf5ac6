/** Drafts: what is being written and cannot be saved as a change yet. The core keeps them, so that closing the page at any moment loses none. */
import { ask, askFor } from './ask.js';
import { job } from './page.js';

/** By what they are of. @type {Record<string, string | undefined>} */
let drafts = {};

/** A screen's load with the drafts of its job. @template T @param {(job: string) => Promise<T>} load @returns {(job: string) => Promise<T>} */
export const withDrafts = (load) => async (id) => {
  if (id) drafts = (await askFor('drafts', { kind: 'drafts', job: id })).drafts;
  return load(id);
};

/** @param {string} key */
export const draft = (key) => drafts[key] ?? '';

/** Keeps a draft; an empty text takes it away. @param {string} key @param {string} text */
export async function keepDraft(key, text) {
  if (draft(key) === text) return;
  drafts[key] = text;
  await ask({ kind: 'keep_draft', job: job(), key, text });
}
