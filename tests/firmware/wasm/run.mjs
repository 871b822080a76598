// Runs the module that is named and prints its text.
import { readFile } from "node:fs/promises";

const [, , file] = process.argv;
if (file === undefined) {
  console.error("usage: node run.mjs MODULE.wasm");
  process.exit(2);
}
const { instance } = await WebAssembly.instantiate(await readFile(file), {});
const { memory, text_length: length, text_start: start } = instance.exports;
const bytes = length();
if (bytes === 0) {
  console.error("the module refused a buffer, a profile or a frame");
  process.exit(1);
}
process.stdout.write(new TextDecoder().decode(new Uint8Array(memory.buffer, start(), bytes)));
