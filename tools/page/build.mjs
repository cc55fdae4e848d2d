// Puts the page together: node build.mjs MODULE.wasm LICENSE OUT.html. Script, worker, style, model
// and licences go into one file that asks nothing of anybody.

import {build} from "esbuild";
import {existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync} from "node:fs";
import {dirname, join} from "node:path";
import {fileURLToPath} from "node:url";
import {gzipSync} from "node:zlib";

const here = dirname(fileURLToPath(import.meta.url));
const [wasm, licence, out] = process.argv.slice(2);
if (!wasm || !licence || !out) {
  console.error("usage: node build.mjs MODULE.wasm LICENSE OUT.html");
  process.exit(2);
}

async function bundled(entry) {
  const result = await build({
    entryPoints: [join(here, "src", entry)], bundle: true, minify: true, write: false, format: "iife",
    target: "es2022", charset: "utf8", legalComments: "none", logLevel: "warning", metafile: true,
  });
  return {text: result.outputFiles[0].text, inputs: Object.keys(result.metafile.inputs)};
}

// A script element ends at the first "</script", wherever it stands.
function inScript(text) {
  return text.replace(/<\/(script)/gi, "<\\/$1").replace(/<!--/g, "<\\!--");
}


const main = await bundled("main.ts");
const worker = await bundled("worker.ts");
const style = (await build({
  entryPoints: [join(here, "src/style.css")], minify: true, write: false, logLevel: "warning",
})).outputFiles[0].text;

// The licence of every package whose code is in the page.
const packages = new Set([...main.inputs, ...worker.inputs].flatMap((path) => {
  const found = /node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(path);
  return found ? [found[1]] : [];
}));
const notices = [...packages].sort().map((name) => {
  const folder = join(here, "node_modules", name);
  const about = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  return `${name} ${about.version}\n\n${readFileSync(join(folder, "LICENSE"), "utf8").trim()}`;
});
notices.unshift(`plunge\n\n${readFileSync(licence, "utf8").trim()}`);

// And of the libraries whose code is in the model, as Debian ships them. A page without one of these
// is not made.
const DOCUMENTS = "/usr/share/doc";
const COMMON = "/usr/share/common-licenses";
const LINKED = [
  /^libboost-dev$/, /^libeigen3-dev$/, /^libfmt-dev$/, /^libtomlplusplus-dev$/, /^nlohmann-json3-dev$/, /^wasi-libc$/,
  /^libc\+\+-\d+-dev-wasm32$/, /^libc\+\+abi-\d+-dev-wasm32$/, /^libclang-rt-\d+-dev-wasm32$/,
];
const documented = existsSync(DOCUMENTS) ? readdirSync(DOCUMENTS).sort() : [];

function copyrightOf(pattern) {
  const found = documented.filter((name) => pattern.test(name) && existsSync(join(DOCUMENTS, name, "copyright")));
  if (found.length === 0) throw new Error(`no notice of a library whose code is in the page: ${DOCUMENTS}/${pattern.source.replace(/[\^$\\]/g, "")}/copyright`);
  return found.map((name) => ({name, text: readFileSync(join(DOCUMENTS, name, "copyright"), "utf8").trim()}));
}

// The note of libboost-dev speaks of the packaging alone: the licence stands in the versioned package's.
function boostLicence() {
  const [{name, text}] = copyrightOf(/^libboost\d+\.\d+-dev$/);
  const found = /^ ?Boost Software License - Version 1\.0[^]*?OTHER DEALINGS IN THE SOFTWARE\.$/m.exec(text);
  if (!found) throw new Error(`${DOCUMENTS}/${name}/copyright does not hold the Boost Software License`);
  return found[0].replace(/^ \.?/gm, "");
}

for (const pattern of LINKED) {
  for (const {name, text} of copyrightOf(pattern)) {
    notices.push(`in the model: ${name}\n\n${text}${name === "libboost-dev" ? `\n\n${boostLicence()}` : ""}`);
  }
}
// What those notices refer to instead of saying it.
for (const name of ["Apache-2.0", "CC0-1.0"]) {
  notices.push(`${name}\n\n${readFileSync(join(COMMON, name), "utf8").trim()}`);
}

// What program the model is of, as it says itself.
async function versionOf(module) {
  const {outputFiles} = await build({
    entryPoints: [join(here, "src/model.ts")], bundle: true, write: false, format: "esm", target: "es2022", logLevel: "warning",
  });
  const {Model} = await import(`data:text/javascript;base64,${Buffer.from(outputFiles[0].contents).toString("base64")}`);
  return (await Model.start(await WebAssembly.compile(module))).version();
}

const module = readFileSync(wasm);
const policy = "default-src 'none'; script-src 'unsafe-inline' 'wasm-unsafe-eval' blob:; worker-src blob:; style-src 'unsafe-inline'; img-src data: blob:";
const page = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="generator" content="${await versionOf(module)}">
<link rel="icon" href="data:,">
<title>plunge: an air spring to learn from</title>
<style>${style.replace(/<\//g, "<\\/")}</style>
</head>
<body>
<div id="page"><noscript>This page is a model that runs in the browser: it needs JavaScript.</noscript></div>
<script type="text/plain" id="licences">${inScript(notices.join("\n\n----\n\n"))}</script>
<script type="text/plain" id="worker">${inScript(worker.text)}</script>
<script type="text/plain" id="model">${gzipSync(module, {level: 9}).toString("base64")}</script>
<script>${inScript(main.text)}</script>
</body>
</html>
`;
mkdirSync(dirname(out), {recursive: true});
writeFileSync(`${out}.part`, page);
renameSync(`${out}.part`, out);
console.log(`${out}: ${(page.length / 1e6).toFixed(2)} MB`);
