"use strict";
// Each figure in turn, lit on the drawing, until all have been agreed to.
(() => {
  const page = document.querySelector("[data-compare]");
  if (!page) return;
  const rows = [...page.querySelectorAll("li[data-name]")];
  const said = document.getElementById("compared");

  const figuresOf = (row) =>
    [...document.querySelectorAll("#board .figure")].filter(
      (one) =>
        (one.dataset.line ?? "") === row.dataset.figureLine && one.dataset.key === row.dataset.keyOf,
    );

  function show(row) {
    for (const one of document.querySelectorAll(".is-lit")) one.classList.remove("is-lit");
    if (!row) return;
    row.classList.add("is-lit");
    for (const one of figuresOf(row)) one.classList.add("is-lit");
  }

  function count() {
    const left = rows.filter((row) => !row.classList.contains("agreed"));
    said.textContent = left.length
      ? `${rows.length - left.length} of ${rows.length} figures agreed.`
      : "Every figure agrees with your plan.";
    return left;
  }

  page.addEventListener("click", async (event) => {
    const row = event.target.closest("[data-agree]")?.closest("li");
    if (!row) return;
    const { name, text } = row.dataset;
    const answer = await desk.send("POST", `/sheet/${page.dataset.compare}/agree`, { name, text });
    if (!answer.ok) return;
    row.classList.add("agreed");
    row.querySelector(".tick").textContent = "agreed";
    const next = count()[0];
    show(next);
    next?.querySelector("button").focus();
  });
  page.addEventListener("focusin", (event) => show(event.target.closest("li[data-name]")));
  document.body.addEventListener("htmx:afterSwap", () => show(count()[0]));
  count();
})();
