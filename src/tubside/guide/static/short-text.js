// The facts of a customer's own check as one short text; the twin of service/short_text.py,
// held to the same golden vectors. Digits are kept small (no BigInt), for old phones.

const LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const VERSION = "1";
const PRIME = 1019;
export const MOST_FACTS = 50;

const written = (number, letters) => {
  let text = "";
  for (let place = letters - 1; place >= 0; place -= 1) {
    text += LETTERS[(number >> (5 * place)) & 31];
  }
  return text;
};

const remainder = (letters) => {
  let value = 0;
  for (const letter of letters) value = (value * 32 + LETTERS.indexOf(letter)) % PRIME;
  return value;
};

/** The text from the short name of the machine's list and the numbers told; null if too many. */
export const shortText = (prefix, numbers) => {
  if (numbers.length > MOST_FACTS) return null;
  const told = VERSION + prefix + numbers.map((number) => written(number, 2)).join("");
  const check = (PRIME - remainder(`${told}00`)) % PRIME;
  return (told + written(check, 2)).match(/.{1,4}/g).join(" ");
};
