"use strict";
// The number of pieces goes along when a part is handed to phones.
document.getElementById("hand-it").addEventListener("click", async (event) => {
  const pieces = document.getElementById("pieces").value;
  const answer = await desk.send("POST", event.target.dataset.to, { pieces });
  if (!answer.ok) return;
  event.target.textContent = "Take this number";
  desk.tell("phone-asked");
});
document.body.addEventListener("desk-sent", ({ detail }) => {
  if (detail.from.dataset.send.endsWith("/phone/off")) document.getElementById("hand-it").textContent = "Let a phone come in";
});
