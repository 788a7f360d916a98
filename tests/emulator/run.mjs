/* Usage: node run.mjs SCENARIO.json RESULT.json
 *
 * Runs the image that the scenario names on the emulated console and writes what was seen.  Times are cycles of the
 * 16 MHz clock from power-on.  Exit code 1 with one line on stderr when the scenario cannot be run.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';

import { CHIPS, readImage } from './chip.mjs';
import { EmulatedConsole } from './console.mjs';

function main([scenarioPath, resultPath]) {
  const scenario = JSON.parse(readFileSync(scenarioPath, 'utf8'));
  const began = performance.now();
  const emulated = new EmulatedConsole(scenario, readImage(readFileSync(scenario.hex, 'utf8'), chipOf(scenario)));
  emulated.run();
  const result = { ...emulated.result, wall_ms: performance.now() - began };
  writeFileSync(resultPath, JSON.stringify(result));
}

function chipOf({ board }) {
  if (!(board in CHIPS)) throw new Error(`there is no emulated chip '${board}'; there is ${Object.keys(CHIPS).join(', ')}`);
  return CHIPS[board];
}

try {
  main(process.argv.slice(2));
} catch (error) {
  process.stderr.write(`emulator: ${error.message}\n`);
  process.exitCode = 1;
}
