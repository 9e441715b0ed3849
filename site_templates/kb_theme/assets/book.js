// What a page does beyond being read: the other system of units. Everything reads well without it.
(function () {
  "use strict";
  var key = "keelbook-units";
  var other = false;

  function recall() {
    try { return window.localStorage.getItem(key) === "other"; } catch (blocked) { return false; }
  }

  function keep() {
    try { window.localStorage.setItem(key, other ? "other" : "own"); } catch (blocked) { /* not kept, then */ }
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

  document.addEventListener("DOMContentLoaded", function () {
    var control = document.querySelector(".units-control");
    if (!control) { return; }
    function turn() {
      other = !other;
      swap();
      control.textContent = control.getAttribute(other ? "data-to-own" : "data-to-other");
    }
    control.hidden = false;
    if (recall()) { turn(); }
    control.addEventListener("click", function () { turn(); keep(); });
    // Paper shows the book's own units.
    window.addEventListener("beforeprint", function () { if (other) { swap(); } });
    window.addEventListener("afterprint", function () { if (other) { swap(); } });
  });
}());
