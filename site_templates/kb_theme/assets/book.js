// What a page does beyond being read: the rail begins at this sheet; the other system of units. Everything reads well without it.
(function () {
  "use strict";
  var key = "keelbook-units";
  var other = false;

  // The system is kept, not which of the two it is here: another book may have it the other way round.
  function recall() {
    try { return window.localStorage.getItem(key); } catch (blocked) { return null; }
  }

  function keep(system) {
    try { window.localStorage.setItem(key, system); } catch (blocked) { /* not kept, then */ }
  }

  // Every value carries both texts; the one that is not seen waits in its attribute.
  function swap() {
    var values = document.querySelectorAll("[data-other]");
    for (var i = 0; i < values.length; i += 1) {
      var waiting = values[i].getAttribute("data-other");
      values[i].setAttribute("data-other", values[i].textContent);
      values[i].textContent = waiting;
    }
  }

  // The page waits for this script before it is first drawn, so that nothing moves.
  // On a narrow screen the procedures of a stage stand in one line, which begins at this one.
  var here = document.querySelector(".procedures a[aria-current]");
  if (here) { here.closest(".procedures").scrollLeft = here.offsetLeft - 32; }
  var control = document.querySelector(".units-control");
  if (!control) { return; }
  function turn() {
    other = !other;
    swap();
    control.textContent = control.getAttribute(other ? "data-to-own" : "data-to-other");
  }
  control.hidden = false;
  if (recall() === control.getAttribute("data-other-system")) { turn(); }
  control.addEventListener("click", function () {
    turn();
    keep(control.getAttribute(other ? "data-other-system" : "data-own-system"));
  });
  // Paper shows the book's own units.
  window.addEventListener("beforeprint", function () { if (other) { swap(); } });
  window.addEventListener("afterprint", function () { if (other) { swap(); } });
}());
