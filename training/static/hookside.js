// Everything works without this file. It only keeps a wet thumb from sending twice, and closes an open menu.
"use strict";
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) { event.preventDefault(); return; }
  if (form.matches("[data-once]")) { form.dataset.sent = "yes"; }
});
window.addEventListener("pageshow", () => document.querySelectorAll("[data-sent]").forEach((form) => delete form.dataset.sent));
document.addEventListener("click", (event) => {
  document.querySelectorAll("details.menu[open]").forEach((menu) => { if (!menu.contains(event.target)) { menu.open = false; } });
});
