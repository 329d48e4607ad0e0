"use strict";
// The folder was chosen: it stays, or the desk moves there and answers again in a moment.
document.body.addEventListener("desk-sent", ({ detail: { answer } }) => {
  if (answer.moves === false) location.assign("/");
  if (answer.moves) desk.say("The desk moves to that folder ...");
});
