"use strict";
// The board: a file that came, went or became another kind of thing has the cards laid out anew; what
// a card says is renewed by the card itself.
(() => {
  const laid = (root) => [...root.querySelectorAll("#stands [id^='file-']")].map((one) => `${one.tagName} ${one.id}`).join();

  document.body.addEventListener("changed", async () => {
    let fresh;
    try {
      const asked = await fetch("/", { headers: { "HX-Request": "true" } });
      if (!asked.ok) return;
      fresh = new DOMParser().parseFromString(await asked.text(), "text/html");
    } catch { return; }
    if (laid(fresh) === laid(document)) return;
    const stands = document.getElementById("stands");
    const held = stands.contains(document.activeElement) && document.activeElement.closest("[id]").id;
    stands.replaceChildren(...fresh.getElementById("stands").childNodes);
    htmx.process(stands);
    if (held) document.getElementById(held)?.querySelector("a, button")?.focus();
  });
})();
