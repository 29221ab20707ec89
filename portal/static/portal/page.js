// Marks that scripts run, so that what only helps without them can step back; says when an answer did not come; keeps
// what is half written when the units or the language are switched.
document.documentElement.classList.add("js");
for (const event of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(event, () => document.getElementById("answer-trouble")?.removeAttribute("hidden"));
}
document.addEventListener("htmx:afterSwap", () => document.getElementById("answer-trouble")?.setAttribute("hidden", ""));

const written = () => [...document.querySelectorAll("main form :is(textarea, select, input:not([type=hidden], [type=file], [type=password]))")].filter((control) => control.name);
const kept = `written on ${location.pathname}`;
document.addEventListener("submit", (event) => {
  if (!event.target.closest(".switches")) return;
  sessionStorage.setItem(kept, JSON.stringify(written().map((control) => [control.name, control.value, control.checked === true])));
});
document.addEventListener("DOMContentLoaded", () => {
  const before = JSON.parse(sessionStorage.getItem(kept) || "[]");
  sessionStorage.removeItem(kept);
  const controls = written();
  if (controls.length !== before.length) return;
  controls.forEach((control, place) => {
    const [name, value, checked] = before[place];
    if (control.name !== name) return;
    if (control.type === "checkbox" || control.type === "radio") control.checked = checked;
    else control.value = value;
  });
});

// Enter in a box of the review does what stands under the box; without scripts it keeps what is typed.
document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.isComposing || !event.target.matches("#review input")) return;
  const own = event.target.closest("details")?.querySelector("button[data-enter]");
  if (!own) return;
  event.preventDefault();
  own.click();
});
