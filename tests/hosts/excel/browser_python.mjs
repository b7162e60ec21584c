// The function module in a browser's Python (Pyodide), under Node: every vector, without xlwings.
// Not part of the default run, since it needs Node and the npm package. From the checkout:
//
//     npm install --no-save --prefix build/browser pyodide
//     node tests/hosts/excel/browser_python.mjs build/browser/node_modules/pyodide/pyodide.mjs \
//         .venv/lib/python3*/site-packages
import { pathToFileURL } from "node:url";
import { existsSync } from "node:fs";
import { resolve } from "node:path";

const [loader, packages] = process.argv.slice(2).map((path) => resolve(path));
const { loadPyodide } = await import(pathToFileURL(loader));
const python = await loadPyodide();

function mount(folder, place) {
  python.FS.mkdirTree(place);
  python.FS.mount(python.FS.filesystems.NODEFS, { root: folder }, place);
}
mount(resolve("addin"), "/checkout/addin");
mount(resolve("tests/vectors"), "/checkout/tests/vectors");
// Pure Python packages that text with units and humid air need; xlwings is left out.
python.runPython("import sys; sys.path[:0] = ['/checkout/addin', '/packages']");
python.FS.mkdirTree("/packages");
for (const name of ["pint", "flexparser", "flexcache", "platformdirs"]) {
  mount(resolve(packages, name), `/packages/${name}`);
}
for (const name of ["typing_extensions.py", "psychrolib.py"]) {
  const file = resolve(packages, name);
  if (existsSync(file)) {
    const { readFileSync } = await import("node:fs");
    python.FS.writeFile(`/packages/${name}`, readFileSync(file));
  }
}

const report = python.runPython(`
import json, sys
import hoppersheet
from hoppersheet.hosts.excel import functions
from hoppersheet.vectors import load_vectors

assert "xlwings" not in sys.modules
loaded = [name for name in ("pint", "numpy", "openpyxl", "click") if name in sys.modules]
wrong = []
vectors = load_vectors()
for vector in vectors:
    value = getattr(functions, vector.function)(*vector.arguments)
    shown = [["" if x is None else x for x in row] for row in vector.expected] if isinstance(
        vector.expected, list) else vector.expected
    if not vector.accepts(value) and value != shown:
        wrong.append(f"{vector.id}: {value!r}, expected {vector.expected!r}")
json.dumps({"python": sys.version.split()[0], "platform": sys.platform, "loaded": loaded,
            "vectors": len(vectors), "wrong": wrong})
`);
const { python: version, platform, loaded, vectors, wrong } = JSON.parse(report);
console.log(`Python ${version} on ${platform}, loaded by the import: ${loaded.join(", ") || "nothing more"}`);
console.log(`${vectors - wrong.length} of ${vectors} vectors agree`);
wrong.forEach((line) => console.log(line));
process.exit(wrong.length === 0 && loaded.length === 0 ? 0 : 1);
