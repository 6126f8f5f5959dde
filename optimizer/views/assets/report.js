// What the report does when a script may run: one layout at a time, by list, dot, link or the two buttons.
(function () {
  "use strict";
  var sections = Array.prototype.slice.call(document.querySelectorAll("section.layout"));
  var choice = document.getElementById("choice");
  if (!sections.length || !choice) { return; }
  function show(id) {
    var known = sections.some(function (each) { return each.id === id; });
    if (!known) { return false; }
    sections.forEach(function (each) { each.classList.toggle("shown", each.id === id); });
    Array.prototype.forEach.call(document.querySelectorAll("[data-layout]"), function (each) {
      each.classList.toggle("chosen", each.getAttribute("data-layout") === id);
    });
    choice.value = id;
    return true;
  }
  function keep(id) {
    if (show(id)) { history.replaceState(null, "", "#" + encodeURIComponent(id)); }
  }
  function step(by) {
    var at = choice.selectedIndex + by;
    if (at >= 0 && at < choice.options.length) { keep(choice.options[at].value); }
  }
  choice.addEventListener("change", function () { keep(choice.value); });
  document.getElementById("before").addEventListener("click", function () { step(-1); });
  document.getElementById("after").addEventListener("click", function () { step(1); });
  Array.prototype.forEach.call(document.querySelectorAll("svg a[data-layout]"), function (each) {
    each.addEventListener("click", function (event) {
      event.preventDefault();
      keep(each.getAttribute("data-layout"));
    });
  });
  function asked() { return decodeURIComponent(location.hash.slice(1)); }
  window.addEventListener("hashchange", function () { show(asked()); });
  document.body.classList.add("live");
  if (!show(asked())) { show(document.querySelector("section.layout.first").id); }
}());
