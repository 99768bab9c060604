// Everything works without this: it saves a few steps and nothing more.
"use strict";

// A print button where there is a way to print.
document.querySelectorAll("[data-print]").forEach((b) => {
  b.hidden = false;
  b.addEventListener("click", () => window.print());
});

// Pressing a button twice sends a form once.
document.addEventListener("submit", (e) => {
  const form = e.target;
  if (form.dataset.sent) {
    e.preventDefault();
    return;
  }
  if (form.method.toLowerCase() === "post") {
    form.dataset.sent = "yes";
    form.setAttribute("aria-busy", "true");
  }
});
window.addEventListener("pageshow", () => {
  document.querySelectorAll("form[data-sent]").forEach((f) => {
    delete f.dataset.sent;
    f.removeAttribute("aria-busy");
  });
});

// A link to a part of the page opens what hides it.
const open = () => {
  const id = decodeURIComponent(location.hash.slice(1));
  const part = id && document.getElementById(id);
  if (!part) return;
  const box = part.closest("details");
  if (box) box.open = true;
  const field = part.querySelector("input:not([type=hidden]):not([type=radio]), textarea");
  if (field && part.matches("#reading, #job, #edit")) field.focus();
};
window.addEventListener("hashchange", open);
open();

// The calendar's address is picked whole.
document.querySelectorAll("input.address").forEach((i) => i.addEventListener("focus", () => i.select()));

// "/" goes to the search field, as long as nothing is being typed.
document.addEventListener("keydown", (e) => {
  if (e.key !== "/" || e.ctrlKey || e.metaKey || /^(INPUT|TEXTAREA|SELECT)$/.test(document.activeElement.tagName)) return;
  const find = document.querySelector("input[type=search]");
  if (find) {
    e.preventDefault();
    find.focus();
  }
});
