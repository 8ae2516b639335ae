// What was measured in this run, printed at its end.
export const measured = [];

/** Notes a figure beside what it may be at most. */
export function note(name, value, unit, most) {
  measured.push(`measured ${name}: ${typeof value === "number" ? value.toFixed(value < 10 ? 2 : 0) : value} ${unit}${most === undefined ? "" : `, at most ${most}`}`);
}
