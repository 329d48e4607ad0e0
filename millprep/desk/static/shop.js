"use strict";
// The shop: each tick and each figure is kept at once; nothing that comes back renews a box.
(() => {
  const heard = (words) => { document.getElementById("heard").textContent = words; };

  function took(answer) {
    if (!answer.ok || answer.why) return;
    document.getElementById("shop-back").hidden = !answer.back;
    document.querySelector("[data-back]").textContent = answer.back;
  }

  async function tick(group, names, has) {
    const list = group.closest("details");
    list.querySelector("[data-count]").textContent = list.querySelectorAll(":checked").length;
    took(await desk.send("POST", "/shop/drawer", { kind: group.dataset.kind, names, has }));
  }

  async function put(box) {
    if (box.value === box.dataset.sent) return;
    const value = box.dataset.sent = box.value;
    const answer = await desk.send("POST", "/shop/figure", { typed: { [box.dataset.figure]: value } });
    const why = answer.why?.[box.dataset.figure] ?? "";
    document.getElementById(`why-${box.dataset.figure}`).textContent = why;
    box.toggleAttribute("aria-invalid", Boolean(why));
    if (why) { box.setAttribute("aria-invalid", "true"); heard(why); }
    took(answer);
  }

  document.addEventListener("change", (event) => {
    const box = event.target;
    const group = box.closest("fieldset[data-kind]");
    if (group && box.type === "checkbox") tick(group, [box.value], box.checked);
    else if (box.dataset.figure) put(box);
  });
  document.addEventListener("keydown", (event) => {
    const box = event.target;
    if (!box.dataset.figure) return;
    if (event.key === "Enter") { event.preventDefault(); put(box); }
    else if (event.key === "Escape") { box.value = box.dataset.sent ?? box.defaultValue; event.preventDefault(); }
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-all]");
    if (!button) return;
    const group = button.closest("fieldset");
    const has = button.dataset.all === "yes";
    const changed = [...group.querySelectorAll("input")].filter((box) => box.checked !== has && !box.disabled);
    for (const box of changed) box.checked = has;
    if (changed.length) tick(group, changed.map((box) => box.value), has);
  });
  for (const box of document.querySelectorAll("[data-figure]")) box.dataset.sent = box.value;
})();
