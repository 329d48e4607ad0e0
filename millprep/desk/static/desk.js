"use strict";
// Every change goes to the server by this: our header, JSON, and the answer's JSON back.
async function send(method, url, json) {
  const answer = await fetch(url, {
    method, body: JSON.stringify(json ?? {}),
    headers: { "Content-Type": "application/json", "X-Millprep": "desk" },
  });
  return answer.json();
}
document.addEventListener("htmx:configRequest", (event) => { event.detail.headers["X-Millprep"] = "desk"; });
document.getElementById("put-away")?.addEventListener("click", async () => {
  await send("POST", "/put-away");
  document.querySelector("main").textContent = "The desk is put away. This page may be closed.";
});
