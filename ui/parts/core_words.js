/**
 * What the core says, in another language. The core makes English sentences; a table of their forms (English with holes,
 * and the other language with the same holes) says each of them again, hole by hole. What has no form stays English, and
 * what people wrote is never looked up: only the fields named in {@link SPOKEN} are the core's.
 */

/** What a text says in the other language, and how many of its letters are left as they were. @typedef {{said: string, left: number}} Said */
/** @typedef {{lits: string[], match: RegExp[], holes: string[][], own: Set<number>, to: string, weight: number}} Form */

/** A form with fewer letters than this counts only where everything in its holes is known too: "{} of {}" fits anything. */
const FEW_LETTERS = 7;
/** Said sentences that are kept; a view says the same ones again and again. */
const KEPT = 4000;
/** Units, and what stands between numbers, say the same in every language. */
const UNITS = /\b(?:in|ft|mm|cm|m|lb|h|min|d|f|c|px|mph|sq|oz|fl|x|utc|ga|psi|nm)\b|\d{4}-\d\d-\d\dT\d\d:\d\dZ|°[CF]|\p{L}?\d[\p{L}\d/.-]*/giu;

/**
 * Fields of answers in which the core speaks: `field`, or `holder.field` and `kind:field` where elsewhere a field of that
 * name holds a person's words, a code, or a value that goes back to the core as it is; `field[]` is a list of sentences.
 */
const SPOKEN = new Set(`
  title way_title words waits_for not_seen roll_doubt undo clashes[] lacks[] limits_refused missing[] not_measured[] hits_words
  where_ size from_photo snapped[] shut cautions[] remark rule rule_date rule_note doubt shows wanted[] poor[] wrong wrong[]
  area left_out[] doubts[] look_at[] overruled titles[] dry how evidence[] keep_until released handed_over may_not
  may_not_release warranty reopened[] not_entered[] left_open[] apart_words[] remarks[] warnings[] why[] why_not
  why_not_needed hook salvage source how_far tolerance measured[] history[] done[] waits[] item promise.waits
  steps.text kinds.from rows.of rows.wanted rows.why rows.quantity on_hand.wanted lines.more versions.answer values.what values.name
  changes.what changed.what changed.was changed.now changed.why basis.value basis.what supplies_basis.value supplies_basis.what
  tax_basis.value tax_basis.what learned:name
`.split(/\s+/).filter(Boolean));
/** What a person typed or put in by hand, and words that are a code: nothing below these is a sentence of the core. */
const THEIRS = new Set(['by_hand', 'typed', 'new_code']);

/** Names of rules and tables. */
const CODES = /\b\p{Lu}{2,}[\p{Lu}\d/-]*/gu;
/** Where one sentence ends and another begins; not behind the first letter of a name. */
const SENTENCES = /(?<=[.!?”])(?<!(?:^|\D )\p{Lu}\.) (?=[\p{Lu}“\d])/u;

/** @param {string} text */
const letters = (text) => text.replace(/[^\p{L}]/gu, '').length;
/** @param {string} text */
const plain = (text) => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
/** @param {string} text @returns {string[]} */
const wordsOf = (text) => text.match(/\p{L}+/gu) ?? [];
/** @param {string} text */
const upper = (text) => text.charAt(0).toUpperCase() + text.slice(1);
/** @param {string} text */
const lower = (text) => text.charAt(0).toLowerCase() + text.slice(1);
/** A number, a size, a list of them, as it is said; nothing where there are words in it. @param {string} text */
const number = (text) => {
  const bare = text.replace(/ (?:and|to|by) (?=[\d~.])/g, ' ').replace(UNITS, '').replace(CODES, '');
  return /\p{L}/u.test(bare) ? undefined : text.replace(/ and (?=[\d~.])/g, ' y ').replace(/ to (?=[\d~.])/g, ' a ').replace(/ by (?=[\d~.])/g, ' por ');
};

/** A hole while a pattern is put together; then it takes as little as it can, or as much. */
const HOLE = '\0';

/** @param {string} from @param {string} to @returns {Form} */
function formOf(from, to) {
  const lits = from.split('{}');
  /** @type {RegExp[]} */
  let match = [];
  /** @type {string[][]} */
  const holes = [[]];
  // Holes that touch are read as one, and parted where what follows is known.
  for (const lit of lits.slice(1, -1)) lit.trim() === '' ? holes.at(-1)?.push(lit) : holes.push([]);
  return {
    lits, holes, to, weight: letters(lits.join('')),
    own: new Set([...to.matchAll(/\{=(\d+)\}/g)].map((hole) => Number(hole[1]))),
    // Most forms are never met on a page: their patterns are made when they are.
    get match() {
      if (!match.length) {
        const between = lits.slice(1, -1).filter((lit) => lit.trim() !== '').map(plain);
        const whole = `^${[plain(lits[0] ?? ''), ...between, plain(lits.at(-1) ?? '')].join(HOLE)}$`;
        match = ['*?', '*'].map((some) => new RegExp(whole.replaceAll(HOLE, `([\\s\\S]${some})`)));
      }
      return match;
    },
  };
}

/** A form as it stands, and what is left of it where its last hole is empty or where it stands behind no comma. @param {[string, string]} form @returns {[string, string][]} */
const variants = ([from, to]) => [[from, to],
  .../** @type {[string, string][]} */ (from.endsWith(' {}') ? [[from.slice(0, -3), to.replace(/ \{=?\d+\}$/, '')]] : []),
  .../** @type {[string, string][]} */ (from.startsWith(', ') ? [[from.slice(2), to.replace(/^, /, '')]] : [])];

/** English words of a form that no hole touches. */
const FULL_WORDS = /(?<![}A-Za-z\d])[A-Za-z]+(?![{A-Za-z\d])/g;

/**
 * Says sentences of the core by a table of forms; each is found by its rarest word, not by trying one form after another.
 * @param {Record<string, string>} table English, `{}` for each hole, to the other language with `{1}`, `{2}`; `{=1}` stays as it is
 * @returns {(text: string) => Said}
 */
export function speaker(table) {
  /** @type {Map<string, string>} */
  const whole = new Map();
  /** @type {Map<string, string>} */
  const small = new Map();
  /** Forms with holes, each made when a text meets it: most never are on a page. @type {{from: string, to: string, form?: Form}[]} */
  const forms = [];
  for (const [from, to] of Object.entries(table).flatMap(variants)) {
    if (from.includes('{}')) forms.push({ from, to });
    else {
      whole.set(from, to);
      small.set(from.toLowerCase(), to);
    }
  }
  const words = forms.map((form) => form.from.match(FULL_WORDS) ?? []);
  /** @type {Map<string, number>} */
  const often = new Map();
  for (const word of words.flat()) often.set(word, (often.get(word) ?? 0) + 1);
  /** @type {Map<string, typeof forms>} */
  const index = new Map();
  for (const [at, form] of forms.entries()) {
    const rarest = words[at]?.reduce((one, other) => ((often.get(other) ?? 0) < (often.get(one) ?? Infinity) ? other : one), '') ?? '';
    const others = index.get(rarest);
    if (others) others.push(form);
    else index.set(rarest, [form]);
  }
  /** @type {Map<string, string | undefined>} */
  const kept = new Map();
  /** @type {Map<string, Said>} */
  const keptBest = new Map();

  /** A text said again, its spaces around it; nothing where not all of it is known. @param {string} text @returns {string | undefined} */
  function known(text) {
    const bare = text.trim();
    if (bare === '') return text;
    if (kept.size > KEPT) kept.clear();
    let said = kept.get(bare);
    if (said === undefined && !kept.has(bare)) kept.set(bare, said = find(bare));
    return said === undefined ? undefined : text.replace(bare, () => said);
  }

  /** @param {string} text @returns {string | undefined} */
  function find(text) {
    const said = listed(text) ?? byForm(text, (form) => form.weight >= FEW_LETTERS);
    // Several sentences are no list, and a list no form of few letters.
    if (said !== undefined || SENTENCES.test(text)) return said ?? runs(text, SENTENCES, ' ') ?? headed(text);
    return runs(text, /; /, '; ') ?? runs(text, / · /, ' · ') ?? byForm(text) ?? counted(text) ?? number(text) ?? ended(text) ?? enclosed(text) ?? headed(text)
      ?? runs(text, /, /, ', ') ?? runs(text, / and /, ' y ', ' and ') ?? runs(text, / (?=\()/, ' ') ?? two(text);
  }

  /** Where not all of it is known: the way that leaves the fewest letters as they are. @param {string} text @returns {Said} */
  function best(text) {
    const said = known(text);
    if (said !== undefined) return { said, left: 0 };
    if (keptBest.size > KEPT) keptBest.clear();
    let found = keptBest.get(text);
    if (!found) {
      const ways = [...mostly(text, SENTENCES, ' '), ...mostlyForms(text), ...mostlyHeaded(text)];
      if (!SENTENCES.test(text)) {
        ways.push(...mostly(text, /; /, '; '), ...mostly(text, / · /, ' · '), ...signed(text));
      }
      found = ways.reduce((one, other) => (other.left < one.left ? other : one), { said: text, left: letters(text) });
      keptBest.set(text, found);
    }
    return found;
  }

  /** All of it said, or none: what may be a person's words is not said in part. @param {string} text @returns {Said} */
  function asIs(text) {
    const said = known(text);
    return said === undefined ? { said: text, left: letters(text) } : { said, left: 0 };
  }

  /** @param {Said[]} parts @param {string} between @returns {Said} */
  const joined = (parts, between) => ({ said: parts.map((part) => part.said).join(between), left: parts.reduce((sum, part) => sum + part.left, 0) });

  /** @param {string} text @param {RegExp} at @param {string} between @returns {Said[]} */
  function mostly(text, at, between) {
    const parts = text.split(at);
    if (parts.length < 2) return [];
    /** @type {Said[]} */
    const said = [];
    for (let begin = 0, end; begin < parts.length; begin = end) {
      end = longest(parts, begin, between);
      said.push(best(parts.slice(begin, end).join(between)));
    }
    return [joined(said, between)];
  }

  /** What something is of: its head is known, the rest may be a person's word. @param {string} text @returns {Said[]} */
  function mostlyHeaded(text) {
    const parts = text.split(': ');
    return parts.slice(1).flatMap((_, at) => {
      const head = known(parts.slice(0, at + 1).join(': '));
      return head === undefined || letters(head) === 0 ? [] : [joined([{ said: head, left: 0 }, asIs(parts.slice(at + 1).join(': '))], ': ')];
    });
  }

  /** With who did it, and when, behind it. @param {string} text @returns {Said[]} */
  function signed(text) {
    const [, what, who] = /^(.*?)((?:, [^,]+)?, \d{4}-\d\d-\d\dT\d\d:\d\dZ)$/s.exec(text) ?? [];
    return what && who ? [{ ...asIs(what), said: asIs(what).said + who }] : [];
  }

  /** @param {string} text @returns {Said[]} */
  function mostlyForms(text) {
    return near(text).filter((form) => form.weight >= FEW_LETTERS).flatMap((form) => form.match.flatMap((match) => {
      const found = match.exec(text);
      return found ? [filled(form, found.slice(1), (one, own) => (own ? { said: one, left: 0 } : best(one)))] : [];
    }));
  }

  /** A text without holes, whichever way its first letter or all of it is written, and with its full stop or without. @param {string} text @returns {string | undefined} */
  function listed(text) {
    const said = whole.get(text);
    const other = said ?? small.get(text.toLowerCase());
    if (said ?? other) return said ?? (/^\p{Lu}/u.test(text) ? upper(other ?? '') : /^\p{Lu}{2}/u.test(other ?? '') ? other : lower(other ?? ''));
    if (!text.endsWith('.')) return whole.get(text + '.')?.replace(/\.$/, '');
    const bare = text.length > 1 ? listed(text.slice(0, -1)) : undefined;
    return bare && bare + '.';
  }

  /** With its full stop, or without it. @param {string} text */
  function ended(text) {
    if (!text.endsWith('.')) return byForm(text + '.')?.replace(/\.$/, '');
    const said = known(text.slice(0, -1));
    return said && said + '.';
  }

  /** @param {string} text */
  function enclosed(text) {
    const said = /^\(.*\)$/s.test(text) ? known(text.slice(1, -1)) : undefined;
    return said && `(${said})`;
  }

  /** Forms that share their rarest word with a text, those with the most letters first. @param {string} text */
  const near = (text) => [...new Set(['', ...wordsOf(text)])].flatMap((word) => index.get(word) ?? [])
    .map((known) => known.form ??= formOf(known.from, known.to)).sort((a, b) => b.weight - a.weight);

  /** @param {string} text @param {(form: Form) => boolean} [some] @returns {string | undefined} */
  function byForm(text, some = () => true) {
    for (const [form, match] of near(text).filter(some).flatMap((one) => one.match.map((match) => /** @type {const} */ ([one, match])))) {
      const found = match.exec(text);
      const said = found && filled(form, found.slice(1), (one, own) => {
        const all = own ? (one.includes('; ') || SENTENCES.test(one) ? undefined : one) : known(one);
        return { said: all ?? one, left: all === undefined ? 1 : 0 };
      });
      if (said?.left === 0) return said.said;
    }
    return undefined;
  }

  /** @param {Form} form @param {string[]} found @param {(text: string, own: boolean) => Said} say what a hole says; of a person's own words @returns {Said} */
  function filled(form, found, say) {
    let left = 0;
    const said = found.flatMap((one, at) => parted(one, form.holes[at] ?? [])).map((text, at) => {
      const own = form.own.has(at + 1);
      const one = say(text, own);
      left += one.left;
      return own ? text : one.said;
    });
    return { said: form.to.replace(/\{=?(\d+)\}/g, (_, n) => said[Number(n) - 1] ?? ''), left };
  }

  /** What stands in holes that touch, hole by hole. @param {string} text @param {string[]} between @returns {string[]} */
  function parted(text, between) {
    const [last, rest] = [between.at(-1), between.slice(0, -1)];
    if (last === undefined) return [text];
    /** @type {string[] | undefined} */
    let found;
    for (let at = text.length - 1; at >= 0; at -= 1) {
      if (!text.startsWith(last, at) || /^\p{L}{2}/u.test(text.slice(at - 1, at + 1))) continue;
      const [head, tail] = [text.slice(0, at), text.slice(at + last.length)];
      const bare = tail.trim();
      if (!(whole.has(bare) || (letters(bare) > 2 && byForm(bare) !== undefined) || (last && number(bare)))) continue;
      if (rest.length || known(head) !== undefined) return [...parted(head, rest), tail];
      found ??= [head, tail];
    }
    if (found) return found;
    const at = last === '' ? text.length : text.indexOf(last);
    return at < 0 ? [text, ...between.map(() => '')] : [...parted(text.slice(0, at), rest), text.slice(at + last.length)];
  }

  /** A number with its word, or a word with its number: `2 rows`, `roof bow 2 and 3`. @param {string} text */
  function counted(text) {
    const [, count, word] = /^((?:[x+/-] )?[~\d][\d.,/ ]*(?:(?:in|ft|mm) )?)(\p{L}.*)$/su.exec(text) ?? [];
    const of = word && listed(word);
    if (of) return count + of;
    const [, name, numbers] = /^(\D*\p{L}) ([\d~(][\s\S]*)$/u.exec(text) ?? [];
    const [left, right] = [name && listed(name), numbers && number(numbers)];
    return left && right ? `${left} ${right}` : undefined;
  }

  /** Where the longest run of parts ends that is known together, not all of them; one part where none is. @param {string[]} parts @param {number} begin @param {string} between */
  function longest(parts, begin, between) {
    const all = between === ', ' || between === ' and ' || between === ' ' && !SENTENCES.test(parts.join(between));
    for (let end = begin === 0 ? parts.length - 1 : parts.length; end > begin + 1; end -= 1) {
      const run = parts.slice(begin, end).join(between);
      if ((all ? known(run) : listed(run) ?? byForm(run)) !== undefined) return end;
    }
    return begin + 1;
  }

  /**
   * Parts that were put together, the longest runs of them first.
   * @param {string} text @param {RegExp} at @param {string} to @param {string} [between]
   */
  function runs(text, at, to, between = to) {
    const parts = text.split(at);
    if (parts.length < 2) return undefined;
    /** @type {string[]} */
    const said = [];
    for (let begin = 0, end; begin < parts.length; begin = end) {
      end = longest(parts, begin, between);
      const one = known(parts.slice(begin, end).join(between));
      if (one === undefined) return undefined;
      said.push(one);
    }
    return said.join(to);
  }

  /** @param {string} text @returns {string | undefined} */
  function headed(text) {
    for (let at = text.indexOf(': '); at > 0; at = text.indexOf(': ', at + 1)) {
      const [head, rest] = [known(text.slice(0, at)), known(text.slice(at + 2))];
      if (head !== undefined && rest !== undefined && letters(head)) return `${head}: ${rest}`;
    }
    return undefined;
  }

  /** Two that stand side by side, the second of several words: `seam station x 2, both top rails`, `roof looked at`. @param {string} text @returns {string | undefined} */
  function two(text) {
    for (let at = text.indexOf(' '); at > 0; at = text.indexOf(' ', at + 1)) {
      const [left, right] = [text.slice(0, at), text.slice(at + 1)];
      const one = right.includes(' ') ? listed(left) : undefined;
      const other = one && (listed(right) ?? (right.startsWith('x ') ? byForm(right) : undefined));
      if (other) return `${one} ${other}`;
    }
    return undefined;
  }

  return best;
}

/**
 * An answer of the core with all that it says said again; what people wrote, codes and values stay as they are.
 * @template {{kind: string}} T
 * @param {T} answer @param {(text: string) => string} speak
 * @returns {T}
 */
export function spoken(answer, speak) {
  /** @param {any} value @param {string} holder @param {string} name @returns {any} */
  const walk = (value, holder, name) => {
    // Whose act it was stands before it.
    if (name === 'lines_since[]') return value.replace(/(?<=: ).*$/su, speak);
    if (typeof value === 'string') return [name, `${holder}.${name}`, `${answer.kind}:${name}`].some((one) => SPOKEN.has(one)) ? speak(value) : value;
    if (Array.isArray(value)) return value.map((one) => walk(one, holder, typeof one === 'string' ? `${name}[]` : name));
    // A line that a person typed or put in by hand keeps its words.
    if (value === null || typeof value !== 'object' || THEIRS.has(name) || value.own === true || value.by_hand === true) return value;
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, walk(one, name, key)]));
  };
  return walk(answer, '', answer.kind);
}
