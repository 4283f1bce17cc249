// Renews the board in place, so that neither the reading place nor the focus is lost. Without it the page renews itself whole.
(() => {
  "use strict";
  const board = document.getElementById("board");
  const said = document.getElementById("board-said");
  if (!board || !said) return;
  const told = () => board.querySelector("[data-said]")?.dataset.said ?? board.textContent.trim();
  let last = told();
  const renew = async () => {
    // Nobody looks, or somebody is in it: it waits.
    if (document.hidden || board.contains(document.activeElement)) return;
    let answer;
    try {
      answer = await fetch("/plan/board/part", { credentials: "same-origin", redirect: "manual", cache: "no-store" });
    } catch {
      // The desk is away: what stands there stays, and the next try comes by itself.
      return;
    }
    if (answer.type === "opaqueredirect") {
      // The session is over: the page leads to the sign-in.
      location.reload();
      return;
    }
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    board.replaceChildren(...page.body.childNodes);
    // Read out only when a count or the deadline is another one.
    if (told() !== last) said.textContent = last = told();
  };
  setInterval(renew, 20000);
})();
