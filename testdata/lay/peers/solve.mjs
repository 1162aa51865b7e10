// Solves the integer programs on standard input (a JSON list of texts in the LP format) and
// writes the list of their least objectives.
import highsLoader from "highs";
import { readFileSync } from "node:fs";

const highs = await highsLoader();
const out = JSON.parse(readFileSync(0, "utf8")).map((model) => {
  const solved = highs.solve(model, { mip_rel_gap: 0, mip_abs_gap: 1e-6 });
  if (solved.Status !== "Optimal") throw new Error(solved.Status + "\n" + model);
  return solved.ObjectiveValue;
});
console.log(JSON.stringify(out));
