// Asks the program for every way of a part and gives what of its answers has no Spanish: run in a page of the program.
// PART, SURFACE and PLACE are put in by the test.
const ask = async (what) => {
  const response = await fetch('/ask', { method: 'POST', headers: { bowseam: '1', 'content-type': 'application/json' }, body: JSON.stringify(what) });
  return response.json();
};
const { speaker, spoken } = await import('/parts/core_words.js');
const { LANGUAGES } = await import('/parts/words.js');
const tables = await Promise.all(LANGUAGES.es.core.map(async (part) => (await fetch(`/words/es_core_${part}.json`)).json()));
const speak = speaker(Object.assign({}, ...tables));
const KINDS = ['hole', 'tear', 'crease', 'dent', 'bend', 'crack', 'gouge', 'corrosion', 'loose_fasteners', 'missing', 'broken', 'leak', 'delamination', 'water_stained'];
const OF_A_WAY = ['steps', 'figures'];
const ONCE = ['roof_off', 'proof', 'hand_over', 'cut_list', 'buying_list', 'arrival', 'fold_out'];

/** What is not wholly said, with what is said of it. @type {Map<string, string>} */
const english = new Map();
const hear = (text) => {
  const { said, left } = speak(text);
  if (left) english.set(text, said);
  return said;
};
const refused = (answer) => typeof answer.sentence === 'string';
const listen = (answer) => {
  if (refused(answer)) hear(answer.sentence);
  else spoken(answer, hear);
  return answer;
};

let steps = 0;
const ways = new Set();
const [from, to, low, high] = PLACE;
const job = (await ask({ kind: 'open_job', unit: `ES ${PART} ${from}` })).id;
for (const damage of KINDS) {
  const mark = listen(await ask({ kind: 'add_mark', job, place: { surface: SURFACE, from, to, low, high }, damage, part: PART, age: 'new', note: '', found: null })).id;
  if (!mark) continue;
  for (const choice of listen(await ask({ kind: 'ways', job })).choices) {
    for (const way of choice.ways) {
      // A way has the same steps whatever is damaged; what does not fit says why, for this damage.
      const key = way.fits ? way.key : `${way.key}, ${damage}`;
      if (ways.has(key) || way.key === 'by_hand') continue;
      ways.add(key);
      if (refused(listen(await ask({ kind: 'choose_way', job, group: choice.group, way: way.key, by_hand: null })))) continue;
      for (const kind of OF_A_WAY) {
        const view = listen(await ask({ kind, job }));
        if (kind !== 'steps') continue;
        steps += view.steps.length;
        // These go back to the core as they are, and are said where they are shown.
        for (const value of view.steps.flatMap((step) => step.values)) for (const words of [value.wanted, value.otherwise ?? '']) hear(words);
      }
      if (steps && !ways.has('once')) for (const kind of ONCE) listen(await ask({ kind, job }));
      ways.add('once');
    }
  }
  await ask({ kind: 'remove_mark', job, mark });
}
return { steps, english: [...english] };
