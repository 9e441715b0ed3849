// Search in the whole book, from a server or a disk: the control, the key and the panel. What matches, and the
// data, are loaded when the search is first opened; this is the one name that they share.
const keelbookSearch = {};
(function (search) {
  "use strict";

  const GROUPS = {
    sheet: "Sheets", step: "Steps", heading: "Headings", hold: "Hold points", measure: "Measurements",
    number: "Numbers", part: "Parts and materials", word: "Words", limit: "Limits", input: "Inputs",
    calculator: "Calculators", list: "Lists and stages",
  };
  const SHAPES = { within: "\u25cf", accepted: "\u25d0", "cannot tell": "\u25c7", outside: "\u25a0" };
  const FIRST = 5;
  const LONG = 180;
  const source = document.currentScript.src;
  const top = source.slice(0, source.lastIndexOf("assets/"));
  let index = null;
  let panel = null;

  function element(name, attributes, ...inside) {
    const made = document.createElement(name);
    Object.keys(attributes).forEach((one) => made.setAttribute(one, attributes[one]));
    inside.forEach((one) => made.append(one));
    return made;
  }

  /** A text as pieces, its found words marked; of a long one the part that has most of them. */
  function marked(text, laid) {
    const found = search.words(text).filter((word) => laid.some((one) => !one.isWeak && one.hits.has(word.form)));
    let from = 0;
    let to = text.length;
    if (text.length > LONG) {
      let best = 0;
      found.forEach((word) => {
        const end = word.from + LONG - 60;
        const count = new Set(found.filter((one) => one.from >= word.from && one.to <= end).map((one) => one.form)).size;
        if (count > best) {
          best = count;
          from = word.from < 60 ? 0 : text.lastIndexOf(" ", word.from - 30) + 1;
        }
      });
      to = from + LONG < text.length ? text.lastIndexOf(" ", from + LONG) : text.length;
      if (to <= from) { to = from + LONG; }
    }
    const pieces = document.createDocumentFragment();
    let at = from;
    if (from > 0) { pieces.append("\u2026 "); }
    found.filter((word) => word.from >= from && word.to <= to).forEach((word) => {
      pieces.append(text.slice(at, word.from), element("mark", {}, text.slice(word.from, word.to)));
      at = word.to;
    });
    pieces.append(text.slice(at, to));
    if (to < text.length) { pieces.append(" \u2026"); }
    return pieces;
  }

  function row(entry, laid, id) {
    const link = element("a", { class: `find find-${entry.kind}`, role: "option", id, href: top + entry.way, tabindex: "-1" });
    link.setAttribute("aria-selected", "false");
    const line = (name, ...inside) => { if (inside.some((one) => one !== "")) { link.append(element("span", { class: name }, ...inside)); } };
    const hasOwnMark = ["number", "input", "limit"].includes(entry.kind);
    const sheet = entry.kind === "step" ? `${entry.sheet} step ${entry.mark}`.trim() : entry.sheet;
    line("find-mark", entry.kind === "limit" ? `${SHAPES[entry.mark]} ${entry.mark}` : hasOwnMark ? entry.mark : sheet);
    line("find-title", entry.title ? marked(entry.title, laid) : "");
    if (entry.kind === "word" && entry.mark) { line("find-text", "Also called ", marked(entry.mark, laid)); }
    line("find-text", entry.text ? marked(entry.text, laid) : "");
    if (entry.kind === "sheet") {
      line("find-place", entry.mark);
    } else if (!["word", "input", "calculator", "list"].includes(entry.kind)) {
      line("find-place", hasOwnMark ? `${entry.sheet} ${entry.sheetTitle}`.trim() : entry.sheetTitle);
    }
    return link;
  }

  class Panel {
    constructor() {
      this.field = element("input", {
        type: "text", id: "search-field", role: "combobox", "aria-expanded": "false", "aria-controls": "search-results",
        "aria-autocomplete": "list", autocomplete: "off", autocapitalize: "none", spellcheck: "false", enterkeyhint: "go",
      });
      this.results = element("div", { id: "search-results", role: "listbox", "aria-label": "What was found" });
      this.told = element("p", { class: "search-told", role: "status" });
      const close = element("button", { type: "button", class: "search-close" }, "Close");
      this.box = element("dialog", { class: "search", "aria-label": "Search the book" },
        element("div", { class: "search-head" },
          element("label", { for: "search-field" }, "Search the book"), close, this.field, this.told),
        this.results);
      this.active = -1;
      this.options = [];
      this.open = new Set();
      this.waiting = 0;
      close.addEventListener("click", () => this.hide());
      this.field.addEventListener("input", () => this.soon());
      this.box.addEventListener("keydown", (event) => this.key(event));
      this.box.addEventListener("close", () => this.back());
      this.box.addEventListener("mousedown", (event) => { if (event.target === this.box) { this.hide(); } });
      this.results.addEventListener("click", (event) => this.chosen(event));
      document.body.append(this.box);
    }

    show() {
      if (this.box.open) { return; }
      this.from = document.activeElement;
      if (this.box.showModal) { this.box.showModal(); } else { this.box.setAttribute("open", ""); }
      this.field.focus();
      this.field.select();
      load();
      this.search();
    }

    hide() {
      this.field.blur(); // else the next key still goes to it until the screen is drawn anew
      if (this.box.close) { this.box.close(); } else { this.box.removeAttribute("open"); this.back(); }
    }

    back() {
      if (this.from && this.from.focus) { this.from.focus({ preventScroll: true }); }
      this.from = null;
    }

    /** Search once for all that was typed since the last picture on the screen. */
    soon() {
      this.open.clear();
      window.cancelAnimationFrame(this.waiting);
      this.waiting = window.requestAnimationFrame(() => this.search());
    }

    search() {
      const query = this.field.value;
      if (!index) { return; }
      const found = index.find(query);
      this.draw(found, telling(query, found));
    }

    draw(found, told) {
      const all = document.createDocumentFragment();
      this.options = [];
      found.groups.forEach((group) => {
        const head = element("p", { class: "find-group", id: `find-${group.kind}`, role: "presentation" }, GROUPS[group.kind]);
        const box = element("div", { role: "group", "aria-labelledby": head.id }, head);
        const shown = this.open.has(group.kind) ? group.entries : group.entries.slice(0, FIRST);
        shown.forEach((entry) => {
          const link = row(entry, found.laid, `find-${this.options.length}`);
          this.options.push(link);
          box.append(link);
        });
        if (shown.length < group.entries.length) {
          const more = element("div", {
            class: "find find-more", role: "option", id: `find-${this.options.length}`, "data-kind": group.kind, "aria-selected": "false",
          }, `${group.count - shown.length} more`);
          this.options.push(more);
          box.append(more);
        }
        all.append(box);
      });
      this.results.textContent = "";
      this.results.append(all);
      this.field.setAttribute("aria-expanded", String(this.options.length > 0));
      this.told.textContent = told;
      this.activate(-1);
    }

    activate(number) {
      if (this.options[this.active]) { this.options[this.active].setAttribute("aria-selected", "false"); }
      this.active = number;
      const option = this.options[number];
      if (!option) { this.field.removeAttribute("aria-activedescendant"); this.results.scrollTop = 0; return; }
      option.setAttribute("aria-selected", "true");
      this.field.setAttribute("aria-activedescendant", option.id);
      option.scrollIntoView({ block: "nearest" });
    }

    key(event) {
      const count = this.options.length;
      if (event.key === "Escape") {
        this.hide();
      } else if (event.target !== this.field || event.isComposing) {
        return;
      } else if (event.key === "ArrowDown" && count) {
        this.activate((this.active + 1) % count);
      } else if (event.key === "ArrowUp" && count) {
        this.activate(this.active > 0 ? this.active - 1 : count - 1);
      } else if (event.key === "Enter" && count) {
        this.options[Math.max(this.active, 0)].click();
      } else {
        return;
      }
      event.preventDefault();
    }

    chosen(event) {
      const option = event.target.closest("[role=option]");
      if (!option || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
      event.preventDefault();
      if (option.href) {
        this.from = null;
        this.hide();
        window.location.assign(option.href);
        return;
      }
      const at = this.options.indexOf(option);
      this.open.add(option.getAttribute("data-kind"));
      this.search();
      this.field.focus();
      this.activate(at);
    }
  }

  function telling(query, found) {
    const count = search.words(query).length;
    if (!count) { return "Words, a part's label, a size, a sheet's number."; }
    if (!found.count) { return `Nothing has ${count > 1 ? "these words" : "this word"}. Try fewer, or another name for it.`; }
    return found.isNear ? `No place has all these words; ${found.count} have most of them.` : `${found.count} found.`;
  }

  /** Load, once, what matches and then the data; where a file fails, the next opening tries again. */
  function load() {
    if (index || document.querySelector(".search-file")) { return; }
    panel.told.textContent = "One moment \u2026";
    ["search-words.js", "search-find.js", "search-index.js"].forEach((name) => {
      const script = element("script", { class: "search-file", src: `${top}assets/${name}` });
      script.async = false;
      script.addEventListener("error", () => {
        document.querySelectorAll(".search-file").forEach((one) => one.remove());
        panel.told.textContent = `assets/${name} could not be read. Build the book again, or copy all of its files.`;
      });
      document.head.append(script);
    });
  }

  function open() {
    panel = panel || new Panel();
    panel.show();
  }

  function isTyping(target) {
    return target.isContentEditable || /^(?:INPUT|SELECT|TEXTAREA)$/.test(target.tagName);
  }

  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) { return; }
    event.preventDefault();
    open();
  });
  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll(".search-control").forEach((control) => {
      control.hidden = false;
      control.addEventListener("click", open);
    });
  });

  /** Take the data; the file that holds it calls this. */
  search.take = function (data) {
    index = new search.Index(data);
    panel.search();
  };
}(keelbookSearch));
