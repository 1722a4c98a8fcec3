// Size a ready spec from JavaScript; node 18 or newer, nothing to install.
//   node client_examples/size.mjs [address] [example]

const [address = "http://127.0.0.1:8000", example = "model"] = process.argv.slice(2);
const token = process.env.RAMWRIGHT_TOKEN;
const headers = token ? { Authorization: `Bearer ${token}` } : {};

async function call(path, options = {}) {
  const reply = await fetch(address + path, { ...options, headers: { ...headers, ...options.headers } });
  const document = await reply.json();
  if (!reply.ok) {
    const faults = document.errors.map((error) => `  ${error.pointer}: ${error.detail}`);
    throw new Error([`${document.status} ${document.detail}`, ...faults].join("\n"));
  }
  return document;
}

const spec = await call(`/v1/examples/${example}`);
const sizing = await call("/v1/sizings", {
  method: "POST",
  headers: { "Content-Type": "application/json" },
  body: JSON.stringify(spec),
});

console.log(`${sizing.name}: ${sizing.outcome}`);
console.log(`${sizing.defaults_used.length} defaults were used; ${sizing.warnings.length} warnings:`);
for (const warning of sizing.warnings) {
  console.log(`  ${warning.signal_word.padEnd(8)} ${warning.code}: ${warning.message}`);
}
