// What the report folds away when a script may run, so that its first screens say the answer; on paper all of it is open.
(function () {
  "use strict";
  /** @type {HTMLDetailsElement[]} */
  const folds = Array.from(document.querySelectorAll("details.fold"));
  /** @type {HTMLDetailsElement[]} */
  let opened = [];
  for (const each of folds) each.open = false;
  window.addEventListener("beforeprint", () => {
    opened = folds.filter((each) => !each.open);
    for (const each of opened) each.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const each of opened) each.open = false;
  });
  document.body.classList.add("folds");
}());
