"use strict";
// The options of a sheet, put into the address when the button is pressed; and word that it is of an
// earlier issue, once what it was made of is changed.
addEventListener("click", (event) => {
  if (!event.target.closest("[data-make-so]")) return;
  const address = new URL(location.href);
  address.searchParams.delete("kept");
  for (const box of document.querySelectorAll("[data-option]")) {
    const value = box.type === "checkbox" ? (box.checked ? box.value : "") : box.value.trim();
    if (value) address.searchParams.set(box.dataset.option, value);
    else address.searchParams.delete(box.dataset.option);
  }
  location.assign(address);
});
addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.matches("input[data-option]")) document.querySelector("[data-make-so]").click();
});
document.body.addEventListener("changed", (event) => {
  const slip = document.getElementById("changed");
  if (slip && slip.dataset.watched.split(" ").some((id) => event.detail.ids.includes(id))) slip.hidden = false;
});
