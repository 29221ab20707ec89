// Marks that scripts run, so that what only helps without them can step back, and says when an answer did not come.
document.documentElement.classList.add("js");
for (const event of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(event, () => document.getElementById("answer-trouble")?.removeAttribute("hidden"));
}
document.addEventListener("htmx:afterSwap", () => document.getElementById("answer-trouble")?.setAttribute("hidden", ""));
