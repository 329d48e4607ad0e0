"use strict";
// Every figure of a step is seen without scrolling: what is given up where the room ends, and how
// large the figures are. Nothing here makes a figure.
const room = (() => {
  const root = document.documentElement;
  const find = (id) => document.getElementById(id);

  // How wide the widest figure is, in heights of its type, in the face that this device has.
  function widest() {
    const shapes = new Set([...document.querySelectorAll(".figures dd span")].map((one) => one.textContent.replace(/\d/g, "0")));
    const line = document.createElement("dd");
    line.style.cssText = "position:absolute;visibility:hidden;font-size:100px";
    const box = document.createElement("dl");
    box.className = "figures";
    box.append(line);
    document.body.append(box);
    const widths = [...shapes].map((shape) => { line.textContent = shape; return line.getBoundingClientRect().width; });
    box.remove();
    return Math.max(...widths, 200) / 100;
  }

  // What is given up where the room ends, and how small the figures may be before it is.
  const ROOMS = [["", 0.85], ["one-peck", 0.65], ["one-peck tight", 0.5], ["one-peck tight last", 0]];
  const DIGIT_AT_MOST_PX = 160;
  const DIGIT_AT_LEAST_PX = 22;
  let em = 4;

  function fit(card, record) {
    const classes = ["one-peck", "tight", "last"];
    root.classList.remove(...classes);
    showPeck(card, record);
    const figures = card.querySelector(".figures");
    if (!figures) return showMore(record);
    for (const [room, least] of ROOMS) {
      root.classList.add(...room.split(" ").filter(Boolean));
      showPeck(card, record);
      const [row] = figures.children;
      const most = Math.min((row.clientWidth - row.querySelector("dt").offsetWidth - 4) / em, DIGIT_AT_MOST_PX);
      if (fitDigits(card, Math.max(least * most, DIGIT_AT_LEAST_PX), most)) break;
    }
    showMore(record);
  }

  // The largest digits with which all is above the foot; whether there are such.
  function fitDigits(card, least, most) {
    const fits = (size) => {
      root.style.setProperty("--digit", `${size}px`);
      return below(card) <= 0;
    };
    if (fits(most)) return true;
    if (!fits(least)) return false;
    let [low, high] = [least, most];
    while (high - low > 0.5) {
      const middle = (low + high) / 2;
      if (fits(middle)) low = middle;
      else high = middle;
    }
    return fits(low);
  }

  // How far what has to be seen reaches under the foot; in the last room tool and count may.
  function below(card) {
    const wanted = root.classList.contains("last") ? ".head > :not(.do, .small), .peck" : ".head > *, .peck";
    const seen = [...card.querySelectorAll(wanted)].filter((one) => one.offsetHeight);
    const lowest = Math.max(...seen.map((one) => one.getBoundingClientRect().bottom));
    return lowest + scrollY - innerHeight + document.querySelector("footer").offsetHeight;
  }

  function showMore(record) {
    const left = root.scrollHeight - innerHeight - scrollY;
    find("more").style.visibility = left > 8 && record.accepted ? "visible" : "hidden";
  }

  // One of the pecks, where there is no room for all of them.
  let peckAt = 0;
  function showPeck(card, record) {
    const list = [...card.querySelectorAll(".pecks.several")].find((one) => one.dataset.units === record.units);
    find("peck").hidden = !(list && root.classList.contains("one-peck"));
    if (find("peck").hidden) return;
    list.after(find("peck"));
    const pecks = list.querySelector("[data-field=pecks]").textContent.trim().split(/\s+/);
    peckAt = Math.min(Math.max(peckAt, 0), pecks.length - 1);
    find("peck-count").textContent = `${peckAt + 1} of ${pecks.length} to`;
    find("peck-to").textContent = pecks[peckAt];
    const [before, after] = document.querySelectorAll("[data-peck]");
    before.disabled = peckAt === 0;
    after.disabled = peckAt === pecks.length - 1;
    find("pecks-all").setAttribute("aria-expanded", String(root.classList.contains("all-pecks")));
  }

  return {
    fit,
    showMore,
    measure: () => { em = widest(); },
    begin: () => { peckAt = 0; root.classList.remove("all-pecks"); },
    peck: (by, card, record) => { peckAt += by; showPeck(card, record); },
    allPecks: (card, record) => { root.classList.toggle("all-pecks"); showPeck(card, record); showMore(record); },
  };
})();
