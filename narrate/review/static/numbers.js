// A number as an advisor types it: "3 mm front left, 3.5 mm front right", "about 2-3 mm", "5/32".

const PLACES = ["front", "rear", "left", "right", "upper", "lower", "inner", "outer"];
const SHORT = { fl: "front left", fr: "front right", rl: "rear left", rr: "rear right", f: "front", r: "rear" };
const UNITS = { '"': "in", inch: "in", inches: "in", "%": "percent", "°c": "degC", "°f": "degF", v: "V", volt: "V", volts: "V", nm: "N.m", mile: "mi", miles: "mi", amp: "A", amps: "A", cca: "CCA", kpa: "kPa", liter: "l", litre: "l" };

/** Numbers as the record holds them, or an Error that says what is wrong. units: symbol -> words for it. */
export function parseNumbers(text, units) {
  return text
    .split(/[,;]/)
    .map((part) => part.trim())
    .filter(Boolean)
    .map((part) => parseOne(part, units));
}

function parseOne(part, units) {
  const shape = /^(about|approx\.?|~)?\s*(-?\d+(?:\.\d+)?)(?:\s*(?:-|–|to)\s*(\d+(?:\.\d+)?))?(\/32)?\s*([^\d\s]\S*)?\s*(.*)$/i.exec(part);
  if (!shape) throw new Error(`“${part}” is no number with a unit; type it as in 3 mm front left.`);
  const [, about, value, high, thirtyseconds, first = "", rest = ""] = shape;
  let [unit, place] = [first, rest];
  if (thirtyseconds) {
    [unit, place] = ["1/32in", `${/^(in|inch|inches|")$/i.test(first) ? "" : first} ${rest}`.trim()];
  }
  return { value, high: high ?? null, unit: unitOf(unit, units, part), about: Boolean(about), location: placeOf(place, part) };
}

function unitOf(word, units, part) {
  if (word in units) return word;
  const known = UNITS[word.toLowerCase()];
  if (known) return known;
  for (const [symbol, words] of Object.entries(units)) {
    if (symbol.toLowerCase() === word.toLowerCase() || words.includes(word.toLowerCase())) return symbol;
  }
  throw new Error(`“${part}” has no unit that is known; add one, such as mm, in, V or psi.`);
}

function placeOf(text, part) {
  if (!text) return null;
  const said = SHORT[text.toLowerCase()] ?? text.toLowerCase();
  const tokens = said.split(/\s+/);
  if (!tokens.every((token) => PLACES.includes(token))) throw new Error(`“${part}”: “${text}” is no place; use words such as front left or rear.`);
  return PLACES.filter((place) => tokens.includes(place)).join(" ");
}
