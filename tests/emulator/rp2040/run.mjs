/* Usage: node run.mjs SCENARIO.json RESULT.json
 *
 * Runs the binary image that the scenario names (its key `hex`) on the emulated console and writes what was seen.
 * Moments are sixteenths of a microsecond from power-on, as on the other boards.  Exit code 1 with one line on stderr
 * when the scenario cannot be run.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';

import { EmulatedConsole } from './console.mjs';

function main([scenarioPath, resultPath]) {
  const scenario = JSON.parse(readFileSync(scenarioPath, 'utf8'));
  const began = performance.now();
  const emulated = new EmulatedConsole(scenario, readFileSync(scenario.hex));
  emulated.run();
  const result = { ...emulated.result, wall_ms: performance.now() - began };
  writeFileSync(resultPath, JSON.stringify(result));
}

try {
  main(process.argv.slice(2));
} catch (error) {
  process.stderr.write(`emulator: ${error.message}\n`);
  process.exitCode = 1;
}
