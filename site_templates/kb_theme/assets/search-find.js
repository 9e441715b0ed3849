// The matching of the search: which entries of the book have the words of a query, the best first.
(function (search) {
  "use strict";
  const { words, relatives, edits, singular, isWeak } = search;

  const TITLE = 2.2;
  const CONTEXT = 0.35;
  const PREFIXES = 600;
  const NUMBERED = 4;
  const KEPT = 24;
  const LITTLE = 3;
  const OF_KIND = {
    sheet: 1.9, step: 1.9, heading: 1.15, hold: 1.3, measure: 1.15, number: 0.85, part: 1.05, word: 1.15, limit: 0.65,
    input: 0.28, calculator: 0.5, list: 1,
  };

  class Index {
    constructor(data) {
      this.kinds = data.kinds;
      this.pages = data.pages;
      this.known = data.words ? data.words.split(" ") : [];
      this.postings = data.postings.split(" ");
      this.size = data.entries.length;
      this.pageOf = new Uint32Array(this.size);
      this.kindOf = new Uint8Array(this.size);
      this.firstOf = [];
      this.lines = [];
      let at = 0;
      this.pages.forEach((page, number) => {
        this.pageOf.fill(number, at, at + page[3]);
        this.firstOf.push(at);
        at += page[3];
      });
      for (let n = 0; n < this.size; n += 1) { this.kindOf[n] = parseInt(data.entries[n], 16); }
      this.sayings = new Map();
      data.sayings.forEach((group) => {
        group.forEach((text) => {
          const parts = text.split(" ");
          const first = this.sayings.get(singular(parts[0])) || [];
          first.push({ parts: parts.map(singular), others: group.filter((one) => one !== text) });
          this.sayings.set(singular(parts[0]), first);
        });
      });
    }

    /** The line of an entry; those of a page are parted when one of them is first looked at. */
    line(number) {
      const page = this.pageOf[number];
      if (!this.lines[page]) { this.lines[page] = this.pages[page][4].split("\n"); }
      return this.lines[page][number - this.firstOf[page]];
    }

    entry(number) {
      const [anchor, mark, title, text] = this.line(number).split("\t");
      const [way, sheet, sheetTitle] = this.pages[this.pageOf[number]];
      const kind = this.kinds[this.kindOf[number]];
      return { kind, mark, title, text, sheet, sheetTitle, way: anchor ? `${way}#${anchor}` : way };
    }

    /** The place of the first word that is not less. */
    place(word) {
      let low = 0;
      let high = this.known.length;
      while (low < high) {
        const middle = (low + high) >> 1;
        if (this.known[middle] < word) { low = middle + 1; } else { high = middle; }
      }
      return low;
    }

    /** The known words that a word of a query may mean, each with how well it fits. */
    meant(word, forgiving) {
      const fits = new Map();
      const add = (at, fit) => { if (!(fits.get(at) >= fit)) { fits.set(at, fit); } };
      const exactly = (one, fit) => {
        const at = this.place(one);
        if (this.known[at] === one) { add(at, fit); }
      };
      exactly(word, 1);
      relatives(word).forEach(([one, fit]) => exactly(one, fit));
      if (word.length > 1) {
        const begin = this.place(word);
        for (let at = begin; at < begin + PREFIXES && at < this.known.length; at += 1) {
          if (!this.known[at].startsWith(word)) { break; }
          add(at, 0.5 + 0.3 * word.length / this.known[at].length);
        }
      }
      const most = word.length >= 8 ? 2 : 1;
      if (forgiving && word.length >= 4 && !/\d/.test(word)) {
        this.known.forEach((one, at) => {
          if (Math.abs(one.length - word.length) > most || one.length < 3) { return; }
          if (one[0] !== word[0] && one[0] !== word[1] && one[1] !== word[0]) { return; }
          const count = edits(word, one, most);
          if (count <= most) { add(at, count === 1 ? 0.45 : 0.3); }
        });
      }
      return fits;
    }

    /** Lays how well each entry has a word, and the titles of its sheet, into a layout of numbers. */
    lay(fits, into, factor) {
      const put = (list, strength, isTitle) => {
        let number = 0;
        let digits = 0;
        for (let at = 0; at < list.length; at += 1) {
          const code = list.charCodeAt(at);
          if (code > 92) { digits = digits * 34 + code - 93; continue; }
          number += digits * 44 + code - 48;
          digits = 0;
          if (into.own[number] < strength) {
            if (into.own[number] === 0) { into.count += 1; }
            into.own[number] = strength;
          }
          if (isTitle && this.kindOf[number] === 0) {
            const page = this.pageOf[number];
            into.context[page] = Math.max(into.context[page], strength * CONTEXT / TITLE);
          }
        }
      };
      fits.forEach((fit, at) => {
        const [title, text] = this.postings[at].split("!");
        put(title, fit * factor * TITLE, true);
        put(text, fit * factor, false);
        into.hits.add(this.known[at]);
      });
    }

    empty() {
      return {
        own: new Float32Array(this.size), context: new Float32Array(this.pages.length), count: 0, hits: new Set(),
      };
    }

    /** The layouts of some words, of which an entry must have all, as one. */
    all(forms, forgiving, factor) {
      const one = forms.map((word) => {
        const into = this.empty();
        this.lay(this.meant(word, forgiving), into, factor);
        return into;
      }).reduce((left, right) => {
        left.count = 0;
        for (let n = 0; n < left.own.length; n += 1) {
          left.own[n] = Math.min(left.own[n], right.own[n]);
          if (left.own[n] > 0) { left.count += 1; }
        }
        for (let n = 0; n < left.context.length; n += 1) { left.context[n] = Math.min(left.context[n], right.context[n]); }
        right.hits.forEach((word) => left.hits.add(word));
        return left;
      });
      return one;
    }

    /** The parts of a query: its words, and several words together where the book has another name for them. */
    parts(query) {
      const forms = words(query).map((one) => one.form);
      const found = [];
      for (let at = 0; at < forms.length;) {
        const said = (this.sayings.get(singular(forms[at])) || [])
          .filter((one) => one.parts.every((word, n) => singular(forms[at + n] || "") === word))
          .sort((one, other) => other.parts.length - one.parts.length);
        const length = said.length ? said[0].parts.length : 1;
        const others = said.filter((one) => one.parts.length === length);
        const alike = new Set([].concat(...others.map((one) => one.others)));
        if (/^[b-z]$/.test(forms[at]) && /^\d+$/.test(forms[at + 1] || "") && !alike.size) {
          alike.add(forms[at] + forms[at + 1]);
          found.push({ forms: forms.slice(at, at + 2), alike: [...alike] });
          at += 2;
        } else {
          found.push({ forms: forms.slice(at, at + length), alike: [...alike] });
          at += length;
        }
      }
      const weak = (part) => part.forms.every(isWeak);
      const strong = found.some((part) => !weak(part));
      return found.map((part) => Object.assign(part, { isWeak: strong && weak(part) }));
    }

    /** Where a part of a query stands; a weak one counts only where it stands beside the others. */
    laid(part, forgiving) {
      if (part.isWeak) { return { isWeak: true, forms: part.forms, hits: new Set(part.forms) }; }
      const into = this.all(part.forms, forgiving, 1);
      part.alike.forEach((text) => {
        const other = this.all(text.split(" "), false, 0.75);
        const phrase = together(text);
        for (let n = 0; n < other.own.length; n += 1) {
          if (other.own[n] > into.own[n] && (!phrase || phrase.test(this.line(n)))) {
            if (into.own[n] === 0) { into.count += 1; }
            into.own[n] = other.own[n];
          }
        }
        for (let n = 0; n < other.context.length; n += 1) {
          into.context[n] = Math.max(into.context[n], other.context[n]);
        }
        other.hits.forEach((word) => into.hits.add(word));
      });
      const rare = Math.log(1 + this.size / (1 + into.count));
      return Object.assign(into, { isWeak: false, forms: part.forms, weight: rare });
    }

    /** The best entries of each kind, and how many of it there are; of the strong words `missing` may be missing. */
    gathered(all, missing) {
      const sums = { total: new Float32Array(this.size), left: new Int8Array(this.size).fill(missing), has: new Uint8Array(this.size) };
      all.forEach((one) => { if (!one.isWeak) { add(one, this.pageOf, sums); } });
      const { total, left, has } = sums;
      const best = this.kinds.map(() => ({ count: 0, kept: [], floor: 0 }));
      for (let n = 0; n < total.length; n += 1) {
        if (has[n] === 0 || left[n] < 0) { continue; }
        const group = best[this.kindOf[n]];
        group.count += 1;
        if (total[n] > group.floor || group.kept.length < KEPT) {
          group.kept.push({ number: n, score: total[n] });
          if (group.kept.length >= 8 * KEPT) { trim(group); }
        }
      }
      best.forEach(trim);
      return best;
    }

    /** What a query finds: groups of entries, the best group first. */
    find(query) {
      const parts = this.parts(query);
      if (!parts.length || !this.size) { return { groups: [], count: 0, laid: [], isNear: false }; }
      const counted = (groups) => groups.reduce((sum, group) => sum + group.count, 0);
      let laid = parts.map((part) => this.laid(part, false));
      let best = this.gathered(laid, 0);
      let isNear = false;
      if (counted(best) < LITTLE) {
        const forgiving = parts.map((part) => this.laid(part, true));
        const more = this.gathered(forgiving, 0);
        if (counted(more) > counted(best)) { laid = forgiving; best = more; }
        if (!counted(best) && parts.filter((part) => !part.isWeak).length > 2) {
          laid = forgiving;
          best = this.gathered(forgiving, 1);
          isNear = counted(best) > 0;
        }
      }
      const groups = best.map((group, kind) => ({
        kind: this.kinds[kind], count: group.count, entries: this.ranked(group.kept, laid),
      })).filter((group) => group.count);
      groups.sort((one, other) => other.entries[0].score - one.entries[0].score);
      return { groups, count: counted(best), laid, isNear };
    }

    ranked(kept, laid) {
      const entries = kept.map(({ number, score }) => {
        const entry = this.entry(number);
        return Object.assign(entry, { number, score: score * OF_KIND[entry.kind] * nearness(entry, laid) });
      });
      return entries.sort((one, other) => other.score - one.score || one.number - other.number);
    }
  }

  /** Another name of several words counts where they stand together. */
  function together(text) {
    const parts = text.split(" ");
    return parts.length > 1 ? new RegExp(`\\b${parts.map(singular).join("(?:s|es)?[\\s-]+")}`, "i") : null;
  }

  /** Adds a part of a query to the sums of all entries; one that stands only in a sheet's title counts little. */
  function add({ own, context, weight }, pageOf, { total, left, has }) {
    for (let n = 0; n < own.length; n += 1) {
      let strength = own[n];
      if (strength > 0) { has[n] = 1; } else { strength = context[pageOf[n]]; }
      if (strength > 0) { total[n] += weight * strength; } else { left[n] -= 1; }
    }
  }

  function trim(group) {
    group.kept.sort((one, other) => other.score - one.score || one.number - other.number);
    group.kept.length = Math.min(group.kept.length, KEPT);
    if (group.kept.length === KEPT) { group.floor = group.kept[KEPT - 1].score; }
  }

  /** How much the places of the found words speak for an entry: all of its title, close together, in order. */
  function nearness(entry, laid) {
    const titled = words(entry.title).map((one) => one.form);
    const all = titled.concat(["|"], words(entry.text).map((one) => one.form));
    const at = laid.map(() => []);
    all.forEach((word, n) => laid.forEach((one, part) => { if (one.hits.has(word)) { at[part].push(n); } }));
    const covered = titled.filter((word) => laid.some((one) => one.hits.has(word))).length;
    let together = 0;
    for (let i = 0; i + 1 < at.length; i += 1) {
      let least = Infinity;
      at[i].forEach((here) => at[i + 1].forEach((there) => {
        if (there !== here) { least = Math.min(least, there > here ? there - here : here - there + 1); }
      }));
      together += least < 9 ? 1 / least : 0;
    }
    const share = at.length > 1 ? together / (at.length - 1) : 0;
    const long = Math.max(0, all.length - 40) / 250;
    const sheet = entry.kind === "sheet" && words(entry.sheet).map((one) => one.form).join(" ");
    const numbered = sheet && laid.some((one) => one.forms.join(" ") === sheet) ? NUMBERED : 1;
    return numbered * (1 + 0.7 * (titled.length ? covered / titled.length : 0)) * (1 + 0.8 * share) / (1 + long);
  }

  search.Index = Index;
}(keelbookSearch));
