// Puts what the live answer cannot read at the very field, and takes it away when the field is mended.
const form = () => document.getElementById("ask");

function clear(field) {
  for (const told of field.querySelectorAll(".errorlist")) told.remove();
  for (const control of field.querySelectorAll("[aria-invalid]")) {
    control.removeAttribute("aria-invalid");
    const left = (control.getAttribute("aria-describedby") || "").split(" ").filter((id) => document.getElementById(id));
    if (left.length) control.setAttribute("aria-describedby", left.join(" "));
    else control.removeAttribute("aria-describedby");
  }
}

function tell(name, message) {
  const controls = form().querySelectorAll(`[name="${name}"]:not([type="hidden"])`);
  const field = controls[0]?.closest(".field");
  if (!field) return;
  clear(field);
  const list = document.createElement("ul");
  list.className = "errorlist live";
  list.id = `live-${name}`;
  list.append(Object.assign(document.createElement("li"), { textContent: message }));
  field.append(list);
  for (const control of controls) {
    control.setAttribute("aria-invalid", "true");
    control.setAttribute("aria-describedby", `${control.getAttribute("aria-describedby") || ""} ${list.id}`.trim());
  }
}

document.addEventListener("htmx:afterSettle", (event) => {
  if (event.detail.target?.id !== "answer") return;
  for (const told of form().querySelectorAll(".errorlist.live")) clear(told.closest(".field"));
  for (const problem of document.querySelectorAll("#answer [data-field]")) {
    if (problem.dataset.field) tell(problem.dataset.field, problem.querySelector("p > span").textContent);
  }
});

document.addEventListener("change", (event) => {
  const field = event.target.closest("#ask .field");
  if (field) clear(field);
});
