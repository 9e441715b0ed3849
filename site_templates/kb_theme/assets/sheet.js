// What a sheet does on a device: ticks on its steps, what changed since it was last opened, and whether the
// server has a newer copy. Everything reads well without it. No text becomes markup: it is set as text.
(function () {
  "use strict";
  const TICKED = "This sheet has changed since you ticked it: start again, and read what is new.";
  const NOT_FOR_TICKS = "a, button, summary, details, input, label, img, .slip, .card, .signal, .why, .box";

  const top = new URL("../", document.currentScript.src);
  const main = document.querySelector("main[data-sheet]");
  const address = main ? main.dataset.sheet : "";
  const code = main ? main.dataset.code : "";
  const isSheet = main !== null && !main.classList.contains("own");
  const steps = isSheet ? Array.from(main.querySelectorAll("li.step")) : [];
  let ticks = new Set();
  let cleared = null;
  let isKept = true;

  // ---- what the device keeps: for each sheet its code, the day it was last opened, and the steps ticked

  function keyOf(sheet) { return `keelbook-sheet ${top.href}${sheet}`; }

  function read(sheet) {
    try {
      const kept = JSON.parse(window.localStorage.getItem(keyOf(sheet)));
      return kept && typeof kept.code === "string" && Array.isArray(kept.ticks) ? kept : null;
    } catch (blockedOrDamaged) {
      return null;
    }
  }

  function keep() {
    const now = new Date();
    const on = [now.getFullYear(), now.getMonth() + 1, now.getDate()];
    try {
      window.localStorage.setItem(keyOf(address), JSON.stringify({ code, on, ticks: Array.from(ticks) }));
    } catch (blocked) {
      isKept = false;
    }
  }

  function day(kept) {
    const [year, month, date] = Array.isArray(kept.on) ? kept.on.map(Number) : [];
    const then = new Date(year, month - 1, date);
    return isNaN(then) ? "" : then.toLocaleDateString("en", { day: "numeric", month: "long", year: "numeric" });
  }

  function make(tag, css, text) {
    const one = document.createElement(tag);
    one.className = css;
    one.textContent = text;
    return one;
  }

  // ---- what changed since the last visit

  function visit() {
    const kept = read(address);
    const hasChanged = kept !== null && kept.code !== code;
    ticks = new Set(kept && !hasChanged ? kept.ticks : []);
    keep();
    if (!hasChanged) { return; }
    const on = day(kept) ? ` on ${day(kept)}` : "";
    const changed = kept.ticks.length
      ? `${TICKED} You last opened it${on}.`
      : `This sheet has changed since you last opened it${on}.`;
    main.querySelector("h1").after(make("p", "told", changed));
  }

  function markLists() {
    document.querySelectorAll(".changed-word").forEach((one) => one.remove());
    document.querySelectorAll("li[data-code], tr[data-code]").forEach((row) => {
      const kept = read(row.dataset.sheet);
      if (kept && kept.code !== row.dataset.code) {
        const title = row.querySelector(".sheet-title") || row.querySelector("th");
        title.append(" ", make("span", "changed-word", "changed since you opened it"));
      }
    });
  }

  // ---- ticks

  function draw() {
    for (const step of steps) {
      const isTicked = ticks.has(step.id);
      step.classList.toggle("ticked", isTicked);
      step.querySelector(":scope > .step-tick").setAttribute("aria-pressed", String(isTicked));
    }
    const count = steps.filter((step) => ticks.has(step.id)).length;
    const [said, clear] = main.querySelector(".ticks").children;
    const where = isKept ? "" : " This device keeps nothing: they are gone when the page is left.";
    said.textContent = `${count} of ${steps.length} steps ticked.${where}`;
    clear.textContent = cleared ? "Bring ticks back" : "Clear ticks";
  }

  function turn(step) {
    if (!ticks.delete(step.id)) { ticks.add(step.id); }
    cleared = null;
    keep();
    draw();
  }

  function clearOrBringBack() {
    [ticks, cleared] = cleared ? [cleared, null] : [new Set(), ticks.size ? ticks : null];
    keep();
    draw();
  }

  function addTicks() {
    main.classList.add("ticking");
    for (const step of steps) {
      const tick = make("button", "step-tick", "");
      tick.type = "button";
      tick.setAttribute("aria-label", `Step ${step.querySelector(".step-number").textContent} done`);
      tick.addEventListener("click", () => turn(step));
      step.querySelector(":scope > .step-number").after(tick);
    }
    main.addEventListener("click", (event) => {
      const step = event.target.closest("li.step");
      const isText = String(window.getSelection()) !== "";
      if (step && !isText && !event.target.closest(NOT_FOR_TICKS)) { turn(step); }
    });
    const line = make("div", "ticks", "");
    const said = make("p", "", "");
    said.setAttribute("role", "status");
    const clear = make("button", "", "");
    clear.type = "button";
    clear.addEventListener("click", clearOrBringBack);
    line.append(said, clear);
    main.querySelector(".sheet-head").append(line);
    draw();
  }

  function drawKept() {
    const kept = read(address);
    if (kept && kept.code === code) {
      ticks = new Set(kept.ticks);
      cleared = null;
      draw();
    }
  }

  // ---- whether this copy is the newest

  function askServer() {
    if (!main || !window.location.protocol.startsWith("http") || !navigator.onLine) { return; }
    fetch(new URL("codes.json", top), { cache: "no-store" })
      .then((answer) => (answer.ok ? answer.json() : null))
      .then((codes) => { if (codes && codes[address] !== code) { tellStale(address in codes); } })
      // Without an answer this copy is the best there is.
      .catch(() => undefined);
  }

  function tellStale(isThere) {
    const what = isSheet ? "sheet" : "page";
    const stale = make("p", "stale", `A newer copy of this ${what} exists: `);
    stale.setAttribute("role", "status");
    if (isThere) {
      const load = make("a", "", "load it");
      load.href = window.location.pathname;
      load.addEventListener("click", (event) => {
        // A reload asks the server again, where following the link could give the kept copy once more.
        event.preventDefault();
        window.location.reload();
      });
      stale.append(load);
    } else {
      stale.textContent = `This ${what} is no longer in the book on the server.`;
    }
    document.documentElement.classList.add("has-stale");
    main.append(stale);
  }

  // ---- a table that is wider than the screen, and has nothing to stop at, is scrolled with the keyboard too

  function watchWide() {
    if (!window.ResizeObserver) { return; }
    const watcher = new ResizeObserver((entries) => {
      for (const { target } of entries) {
        if (target.scrollWidth > target.clientWidth && !target.querySelector("a, button")) {
          target.tabIndex = 0;
        } else {
          target.removeAttribute("tabindex");
        }
      }
    });
    document.querySelectorAll(".wide:not([tabindex])").forEach((one) => watcher.observe(one));
  }

  if (isSheet) { visit(); }
  if (steps.length) {
    addTicks();
    window.addEventListener("storage", (event) => { if (event.key === keyOf(address)) { drawKept(); } });
  }
  markLists();
  window.addEventListener("pageshow", (event) => {
    if (!event.persisted) { return; }
    markLists();
    if (steps.length) { drawKept(); }
  });
  watchWide();
  askServer();
}());
