// Words for the search: those of a text, what else each may stand as, and how far two are from each other.
// Words are taken from a text by the same rules as in kb/pages/search_words.py: one changes with the other.
(function (search) {
  "use strict";

  const LETTERS = "0-9A-Za-z\u00aa\u00b2\u00b3\u00b9\u00b5\u00ba\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u1fff" +
    "\u2070-\u2079\u2080-\u2089\u2c00-\u2dff\u3005-\ud7ff\uf900-\ufdff\ufe70-\ufefc\uff10-\uff19\uff21-\uff3a\uff41-\uff5a";
  const HYPHENS = "\\-\u2010\u2011";
  const VULGAR = "\u00bc-\u00be\u2150-\u215e";
  const WORD = new RegExp([
    `[A-Za-z]+(?![${LETTERS}${HYPHENS}'\u2019])`,
    `\\d+[ ${HYPHENS}]\\d+/\\d+|\\d+/\\d+`,
    `\\d+[ ${HYPHENS}]?[${VULGAR}]|[${VULGAR}]`,
    "\\d+(?:[.,]\\d+)+",
    `[A-Za-z]{1,4}\\d*(?:[${HYPHENS}]\\d+)+[A-Za-z]?(?![${LETTERS}])`,
    `\\d+[${HYPHENS}][A-Za-z](?![${LETTERS}])`,
    `[${LETTERS}]+(?:['\u2019][${LETTERS}]+)*`,
  ].join("|"), "g");
  const BEFORE_VULGAR = new RegExp(`(\\d)[ ${HYPHENS}]?(?=[${VULGAR}])`, "g");
  const BETWEEN = new RegExp(`[ ${HYPHENS}]+`, "g");
  const PLAIN = /^[0-9A-Za-z]+$/;
  const WEAK = new Set(("a about all an and are as at be been before but by can do does for from has have how i if in is it " +
    "its may me my no not of on one or our out s so than that the their them then there these they this to up " +
    "was we what when where which who why will with you your").split(" "));

  function form(word) {
    if (PLAIN.test(word)) { return word.toLowerCase(); }
    const plain = word.replace(BEFORE_VULGAR, "$1-").toLowerCase().replace(/\u00df/g, "ss")
      .normalize("NFKD").replace(/\u2044/g, "/").replace(/[\u0300-\u036f]/g, "");
    if (plain.includes("/")) { return plain.replace(BETWEEN, "-"); }
    return plain.replace(BETWEEN, "").replace(/,/g, "").replace(/['\u2019]s$|['\u2019]/g, "");
  }

  /** The words of a text, each with its form and its place. */
  function words(text) {
    const found = [];
    let match;
    WORD.lastIndex = 0;
    while ((match = WORD.exec(text)) !== null) {
      found.push({ form: form(match[0]), from: match.index, to: match.index + match[0].length });
    }
    return found.filter((one) => one.form);
  }

  /** What else a word may stand as: one or many, done or doing, 1/2 as 0.5, B-2 as B-02; with how well it fits. */
  function relatives(word) {
    const found = [];
    const add = (other, fit) => { if (other.length > 1) { found.push([other, fit]); } };
    const fraction = /^(?:(\d+)-)?(\d+)\/(\d+)$/.exec(word);
    if (fraction && Number(fraction[3])) {
      add(String(Number(fraction[1] || 0) + fraction[2] / fraction[3]), 0.95);
    }
    const label = /^([a-z]{1,4})0*([1-9]\d?)$/.exec(word);
    if (label) {
      add(label[1] + label[2], 0.95);
      add(`${label[1]}0${label[2]}`, 0.95);
    }
    if (/\d/.test(word)) { return found; }
    add(`${word}s`, 0.95);
    add(`${word}es`, 0.95);
    if (word.endsWith("y")) { add(`${word.slice(0, -1)}ies`, 0.95); }
    if (word.endsWith("ies")) { add(`${word.slice(0, -3)}y`, 0.95); }
    if (word.endsWith("es")) { add(word.slice(0, -2), 0.95); }
    if (word.endsWith("s") && !word.endsWith("ss")) { add(word.slice(0, -1), 0.95); }
    const stem = /^(.{2,})(?:ing|ed)$/.exec(word);
    const base = stem ? stem[1] : word;
    const short = base.endsWith("e") ? base.slice(0, -1) : base;
    if (stem) {
      add(base, 0.7);
      add(`${base}e`, 0.7);
      if (/(.)\1$/.test(base)) { add(base.slice(0, -1), 0.7); }
    }
    if (word.length > 2) {
      add(`${short}ing`, 0.65);
      add(`${short}ed`, 0.65);
      add(`${short}${short.slice(-1)}ing`, 0.65);
      add(`${short}${short.slice(-1)}ed`, 0.65);
    }
    return found;
  }

  /** Edits from one word to another, two letters changed about counting as one; most + 1 where there are more. */
  function edits(one, other, most) {
    let before = [];
    let last = Array.from({ length: other.length + 1 }, (_, at) => at);
    for (let i = 1; i <= one.length; i += 1) {
      const row = [i];
      let least = i;
      for (let j = 1; j <= other.length; j += 1) {
        const same = one[i - 1] === other[j - 1] ? 0 : 1;
        let cost = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + same);
        if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) {
          cost = Math.min(cost, before[j - 2] + 1);
        }
        row.push(cost);
        if (cost < least) { least = cost; }
      }
      if (least > most) { return most + 1; }
      before = last;
      last = row;
    }
    return last[other.length];
  }

  /** A word as one of many. */
  function singular(word) {
    return word.length > 3 && word.endsWith("s") && !word.endsWith("ss") ? word.slice(0, -1) : word;
  }

  Object.assign(search, { words, relatives, edits, singular, isWeak: (word) => WEAK.has(word) });
}(keelbookSearch));
