// What the report does when a script may run: one layout at a time, by list, dot, link or the two buttons.
(function () {
  "use strict";
  const sections = Array.from(document.querySelectorAll("section.layout"));
  const choice = document.getElementById("choice");
  if (!sections.length || !(choice instanceof HTMLSelectElement)) return;
  const list = choice;

  /** @param {string} id */
  function show(id) {
    if (!sections.some((each) => each.id === id)) return false;
    for (const each of sections) each.classList.toggle("shown", each.id === id);
    for (const each of document.querySelectorAll("[data-layout]")) {
      each.classList.toggle("chosen", each.getAttribute("data-layout") === id);
    }
    list.value = id;
    return true;
  }

  /** @param {string} id */
  function keep(id) {
    if (show(id)) history.replaceState(null, "", `#${encodeURIComponent(id)}`);
  }

  /** @param {number} by */
  function step(by) {
    const wanted = list.options[list.selectedIndex + by];
    if (wanted) keep(wanted.value);
  }

  const asked = () => decodeURIComponent(location.hash.slice(1));
  list.addEventListener("change", () => keep(list.value));
  document.getElementById("before")?.addEventListener("click", () => step(-1));
  document.getElementById("after")?.addEventListener("click", () => step(1));
  for (const each of document.querySelectorAll("svg a[data-layout]")) {
    each.addEventListener("click", (event) => {
      event.preventDefault();
      keep(each.getAttribute("data-layout") ?? "");
    });
  }
  window.addEventListener("hashchange", () => show(asked()));
  document.body.classList.add("live");
  if (!show(asked())) show(sections[0].id);
}());
