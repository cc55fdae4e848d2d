// The module as door_program.cpp is the program: node ask_model.mjs MODEL.mjs MODEL.wasm FOLDER < QUESTIONS.
import { readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [script, wasm, folder] = process.argv.slice(2);
const { Model } = await import(pathToFileURL(script).href);
const model = await Model.start(readFileSync(wasm));
const questions = readFileSync(0, "utf8").split("\n").slice(0, -1);
const memory = [];
for (const [number, question] of questions.entries()) {
  const { words, numbers } = model.cross(question);
  writeFileSync(`${folder}/${number}.json`, words);
  writeFileSync(`${folder}/${number}.f64`, new Uint8Array(numbers.buffer, numbers.byteOffset, numbers.byteLength));
  memory.push(numbers.buffer.byteLength);
}
writeFileSync(`${folder}/memory.json`, JSON.stringify(memory));
