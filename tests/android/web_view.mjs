/**
 * What ui/ uses of the web platform, against the least web view that MainActivity.kt lets in: JavaScript by the type
 * checker (which interface a member belongs to), syntax, style sheets and elements, each looked up in the published
 * compatibility data (npm @mdn/browser-compat-data, its column webview_android). What a web view lacks, or has later,
 * may stand in ASKED_FIRST, with the file that asks whether it is there before it uses it. Then files with one thing
 * too new each: every one has to be caught.
 *
 * Argument: the folder with node_modules (typescript, @mdn/browser-compat-data).
 */
import { readFileSync, readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '../..');
const need = createRequire(join(process.argv[2], 'x.js'));
const ts = need('typescript');
const data = need('@mdn/browser-compat-data');
const { LEAST } = /const val LEAST_WEB_VIEW = (?<LEAST>\d+)/.exec(readFileSync(join(root, 'src-tauri/gen/android/app/src/main/java/app/bowseam/field/MainActivity.kt'), 'utf8')).groups;

/** Used only where it is there: feature, and the only files that may use it, which ask first. */
const ASKED_FIRST = JSON.parse(readFileSync(join(root, 'tests/android/asked_first.json'), 'utf8'));

/** Interfaces of TypeScript's library that are parts of others in the data. */
const PARTS = ['Element', 'HTMLElement', 'SVGElement', 'Document', 'Node', 'Window', 'HTMLInputElement', 'Event', 'Body', 'Response', 'Request', 'CharacterData', 'UIEvent'];

/** What the data have as there, and the app around a web view has to do: Tauri's does not (from memory). */
const NOBODY = new Set(['print', 'Window.print', '<a download>']);

/** The first version of the web view that has it, in part at least; Infinity if none has, undefined if the data do not say. */
function since(entry) {
  const support = entry?.__compat?.support?.webview_android;
  if (support === undefined) return undefined;
  const plain = [support].flat().filter((one) => !one.flags && !one.prefix && !one.alternative_name && one.version_added !== null && one.version_added !== 'preview');
  return Math.min(...plain.map((one) => (one.version_added === false ? Infinity : Number(String(one.version_added).replace('≤', '')) || 0)), Infinity);
}

const found = new Map();
/** @param {string} name @param {unknown} entry @param {string} file */
function use(name, entry, file) {
  const at = NOBODY.has(name) ? Infinity : since(entry);
  const known = found.get(name) ?? { at, files: new Set() };
  known.files.add(file);
  found.set(name, known);
}

const constructed = (name) => name.replace(/Constructor$/, '').replace(/^Readonly(Array|Map|Set)$/, '$1').replace(/^(Concat|Template.*)$/, 'Array');

/** The data of a member of a type of the library. */
function member(of, name) {
  const owner = constructed(of);
  const own = data.javascript.builtins[owner] ?? data.api[owner];
  const direct = own?.[name] ?? own?.[`${name}_static`] ?? own?.[`${name}_event`];
  if (direct) return direct;
  for (const part of PARTS) if (data.api[part]?.[name]) return data.api[part][name];
  return undefined;
}

function scripts(files) {
  const options = { allowJs: true, checkJs: true, noEmit: true, target: ts.ScriptTarget.ESNext, module: ts.ModuleKind.ESNext, moduleResolution: ts.ModuleResolutionKind.Bundler, lib: ['lib.esnext.d.ts', 'lib.dom.d.ts', 'lib.dom.iterable.d.ts'], types: [] };
  const host = ts.createCompilerHost(options);
  const plain = host.readFile;
  host.readFile = (name) => files[name] ?? plain(name);
  const exists = host.fileExists;
  host.fileExists = (name) => name in files || exists(name);
  const program = ts.createProgram(Object.keys(files), options, host);
  const checker = program.getTypeChecker();
  for (const source of program.getSourceFiles()) {
    if (source.isDeclarationFile || !(source.fileName in files)) continue;
    const file = relative(root, source.fileName);
    const visit = (node) => {
      syntax(node, file);
      if (ts.isIdentifier(node)) name(node, checker, program, file);
      ts.forEachChild(node, visit);
    };
    visit(source);
  }
}

function name(node, checker, program, file) {
  const symbol = checker.getSymbolAtLocation(node);
  for (const declaration of symbol?.declarations ?? []) {
    const source = declaration.getSourceFile();
    if (!program.isSourceFileDefaultLibrary(source)) return;
    const of = declaration.parent?.name?.text ?? declaration.parent?.parent?.name?.text;
    if (ts.isInterfaceDeclaration(declaration.parent ?? node) || ts.isModuleBlock(declaration.parent ?? node)) {
      const entry = member(of, node.text);
      if (entry) use(`${constructed(of)}.${node.text}`, entry, file);
      continue;
    }
    if (!ts.isVariableDeclaration(declaration) && !ts.isFunctionDeclaration(declaration)) continue;
    const entry = data.api[node.text] ?? data.javascript.builtins[node.text] ?? data.api.Window?.[node.text] ?? data.api.WindowOrWorkerGlobalScope?.[node.text];
    if (entry) use(node.text, entry, file);
  }
}

const { operators, classes, grammar, statements, functions } = data.javascript;
function syntax(node, file) {
  const kind = ts.SyntaxKind;
  if (node.questionDotToken) use('syntax ?.', operators.optional_chaining, file);
  if (ts.isBinaryExpression(node)) {
    const { kind: sign } = node.operatorToken;
    if (sign === kind.QuestionQuestionToken) use('syntax ??', operators.nullish_coalescing, file);
    if (sign === kind.QuestionQuestionEqualsToken) use('syntax ??=', operators.nullish_coalescing_assignment, file);
    if (sign === kind.BarBarEqualsToken) use('syntax ||=', operators.logical_or_assignment, file);
    if (sign === kind.AmpersandAmpersandEqualsToken) use('syntax &&=', operators.logical_and_assignment, file);
  }
  if (ts.isPropertyDeclaration(node)) use('syntax class field', ts.isPrivateIdentifier(node.name) ? classes.private_class_fields : classes.public_class_fields, file);
  if (ts.isClassStaticBlockDeclaration(node)) use('syntax static block', classes.static_initialization_blocks ?? classes.static.initialization_blocks, file);
  if (ts.isAwaitExpression(node)) {
    let up = node.parent;
    while (up && !ts.isFunctionLike(up)) up = up.parent;
    if (!up) use('syntax await of a module', operators.await.top_level, file);
  }
  if (ts.isNumericLiteral(node) && /_/.test(node.getText())) use('syntax 1_000', grammar.numeric_separators, file);
  if (ts.isSpreadAssignment(node)) use('syntax {...x}', operators.spread.spread_in_object_literals, file);
  if (ts.isForOfStatement(node) && node.awaitModifier) use('syntax for await', statements.for_await_of, file);
  if (ts.isParameter(node) && node.initializer) use('syntax (a = 1)', functions.default_parameters, file);
  if (ts.isRegularExpressionLiteral(node)) {
    const text = node.text;
    for (const flag of /\/(\w*)$/.exec(text)[1]) {
      const known = { d: 'hasIndices', s: 'dotAll', v: 'unicodeSets', u: 'unicode', y: 'sticky' }[flag];
      if (known) use(`syntax /./${flag}`, data.javascript.builtins.RegExp[known], file);
    }
    if (/\(\?<[=!]/.test(text)) use('syntax (?<=)', data.javascript.regular_expressions.lookbehind_assertion, file);
  }
  // Elements and attributes that make() makes.
  if (ts.isCallExpression(node) && node.expression.getText() === 'make' && ts.isStringLiteralLike(node.arguments[0] ?? node)) {
    const tag = node.arguments[0].text;
    if (data.html.elements[tag]) use(`<${tag}>`, data.html.elements[tag], file);
    const given = node.arguments[1]?.properties?.find((one) => one.name?.getText() === 'attrs')?.initializer?.properties ?? [];
    for (const one of given) attribute(tag, (one.name?.text ?? '').replace(/'/g, ''), file);
  }
}

function attribute(tag, key, file) {
  const entry = data.html.elements[tag]?.[key] ?? data.html.global_attributes[key];
  if (entry?.__compat) use(`<${tag} ${key}>`, entry, file);
}

function styles(text, file) {
  const plain = text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/"[^"]*"/g, '""');
  const { css } = data;
  for (const [, rule, rest] of plain.matchAll(/@([\w-]+)([^{;]*)/g)) {
    use(`@${rule}`, css['at-rules'][rule], file);
    for (const [, feature] of rest.matchAll(/\(([\w-]+)/g)) if (css['at-rules'][rule]?.[feature]) use(`@${rule} (${feature})`, css['at-rules'][rule][feature], file);
  }
  for (const [, select] of plain.matchAll(/([^{};]+)\{/g)) {
    for (const [, pseudo] of select.matchAll(/::?([a-z-]+)/g)) if (css.selectors[pseudo]) use(`:${pseudo}`, css.selectors[pseudo], file);
    if (/&/.test(select)) use('nested rules', css.selectors.nesting, file);
  }
  for (const [, property, value] of plain.matchAll(/[{;]\s*([a-z-]+)\s*:\s*([^;{}]+)/g)) {
    const entry = css.properties[property];
    if (property.startsWith('--')) continue;
    use(property, entry, file);
    for (const [word] of value.matchAll(/[a-z][a-z-]*/g)) if (entry?.[word]?.__compat) use(`${property}: ${word}`, entry[word], file);
    for (const [, call] of value.matchAll(/([a-z-]+)\(/g)) {
      const type = css.types[call] ?? css.types.color?.[call] ?? css.types.image?.[call] ?? css.types.gradient?.[call] ?? css.types.image?.gradient?.[call] ?? css.types['basic-shape']?.[call];
      if (type?.__compat) use(`${call}()`, type, file);
    }
    for (const [, unit] of value.matchAll(/\d([a-z]{2,5})\b/g)) if (css.types.length?.[unit]?.__compat) use(unit, css.types.length[unit], file);
    if (/\d[dsl]v[hwib]/.test(value)) use('dvh, svh, lvh', css.types.length.viewport_percentage_units_dynamic ?? css.types.length.viewport_percentage_units_small, file);
  }
}

function pages(text, file) {
  for (const [, tag, rest] of text.matchAll(/<([a-z][\w-]*)([^>]*)>/g)) {
    if (data.html.elements[tag]) use(`<${tag}>`, data.html.elements[tag], file);
    for (const [, key] of rest.matchAll(/\s([\w-]+)=/g)) attribute(tag, key, file);
  }
}

/** Looks through files (path to text); answers what the least web view lacks, and the most that anything needs. */
function look(files) {
  found.clear();
  scripts(Object.fromEntries(Object.entries(files).filter(([path]) => path.endsWith('.js'))));
  for (const [path, text] of Object.entries(files)) {
    if (path.endsWith('.css')) styles(text, relative(root, path));
    if (path.endsWith('.html')) pages(text, relative(root, path));
  }
  const lacks = [];
  let most = ['nothing', 0];
  for (const [feature, { at, files: where }] of found) {
    if (at === undefined) continue;
    const elsewhere = [...where].filter((file) => !ASKED_FIRST[feature]?.files.includes(file));
    if (at > Number(LEAST) && elsewhere.length) lacks.push(`${feature} (${at === Infinity ? 'in no web view' : `from ${at}`}) in ${elsewhere.join(', ')}`);
    if (at <= Number(LEAST) && at > most[1]) most = [feature, at];
  }
  for (const [feature, { files: allowed }] of Object.entries(ASKED_FIRST)) for (const file of allowed) if (!found.get(feature)?.files.has(file)) lacks.push(`${feature} stands in asked_first.json and ${file} does not use it`);
  return { lacks, most };
}

const files = {};
for (const entry of readdirSync(join(root, 'ui'), { recursive: true, withFileTypes: true })) {
  const path = join(entry.parentPath ?? entry.path, entry.name);
  if (/\.(js|css|html)$/.test(entry.name) && !path.includes('/office/')) files[path] = readFileSync(path, 'utf8');
}
const { lacks, most } = look(files);
if (lacks.length) {
  console.log(`web view: FAILED, web view ${LEAST} lacks: ${lacks.join('; ')}`);
  process.exit(1);
}
console.log(`web view: ${found.size} features in ${Object.keys(files).length} files; the newest one used is of ${most[1]} (${most[0]}), let in is ${LEAST}; asked for before use: ${Object.keys(ASKED_FIRST).join(', ') || 'none'}`);

/** One thing too new in each. */
const BREAKS = {
  'a call that is too new': ['x.js', 'Object.groupBy([1], String); export {};'],
  'a member that is too new': ['x.js', 'export const f = (/** @type {Promise<number>[]} */ all) => [...all].toSorted().with(0, all[0]) && new Set([1]).union(new Set([2]));'],
  'an interface that no web view has': ['x.js', "export const f = () => new Notification('x');"],
  'syntax that is too new': ['x.js', 'export const f = (/** @type {string} */ s) => /[\\p{L}--a]/v.test(s);'],
  'a property that is too new': ['x.css', 'a { field-sizing: content; }'],
  'a selector that is too new': ['x.css', 'a:active-view-transition { color: red; }'],
  'an at-rule that is too new': ['x.css', '@starting-style { a { color: red; } }'],
  'a function that is too new': ['x.css', 'a { color: light-dark(red, blue); }'],
  'printing, which no web view does': ['x.js', 'export const f = () => window.print();'],
};
for (const [what, [file, text]] of Object.entries(BREAKS)) {
  const path = join(root, 'ui/field', file);
  const broken = look({ ...files, [path]: text }).lacks.filter((lack) => lack.includes(`ui/field/${file}`));
  if (!broken.length) {
    console.log(`web view: FAILED, not caught: ${what}`);
    process.exit(1);
  }
  console.log(`web view, ${what}: caught (${broken[0].slice(0, 90)})`);
}
