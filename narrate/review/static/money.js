// Amounts as people type them, kept as text from end to end: a number of JavaScript cannot hold a cent exactly.

const PLAIN = /^\d+(\.\d+)?$/;
const THOUSANDS = /^\d{1,3}(,\d{3})+(\.\d+)?$/;
const DECIMAL_COMMA = /^\d+,\d{1,2}$/;

/** "$1,204.50", "1204.5" or "96,40" as "1204.50"; throws one sentence for anything else. */
export function amount(text, what = "amount") {
  const bare = text.trim().replace(/^[^\d-]+/, "").replace(/[^\d]+$/, "").replaceAll(/[\s\u00a0\u202f]/g, "");
  if (PLAIN.test(bare)) return bare;
  if (THOUSANDS.test(bare)) return bare.replaceAll(",", "");
  if (DECIMAL_COMMA.test(bare)) return bare.replace(",", ".");
  throw new Error(`“${text.trim()}” is no ${what}; type it as in 96.40.`);
}

/** The same, or nothing where nothing was typed. */
export function amountOrNone(text, what) {
  return text.trim() ? amount(text, what) : null;
}
