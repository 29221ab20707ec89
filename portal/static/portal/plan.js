// Keys on the wall calendar: they act on the work that has the focus and send the same forms that stand on the pages.
(() => {
  const wall = document.querySelector(".wall");
  if (!wall) return;
  const form = document.getElementById("by-key");
  const says = document.getElementById("wall-says");
  const works = () => [...wall.querySelectorAll("a.work")];
  const rows = () => [...wall.tBodies[0].rows].filter((row) => row.dataset.person);
  const KEPT = "the work on the wall calendar";

  const say = (what) => { says.textContent = says.dataset[what]; };
  const go = (work) => { if (work) work.focus(); };
  const inCell = (cell) => [...cell.querySelectorAll("a.work")];

  function across(work, step) {
    const row = work.closest("tr");
    for (let n = work.closest("td").cellIndex + step; n > 0 && n < row.cells.length; n += step) {
      const found = inCell(row.cells[n]);
      if (found.length) return found[0];
    }
    return null;
  }

  function down(work, step) {
    const cell = work.closest("td");
    const here = inCell(cell);
    const next = here[here.indexOf(work) + step];
    if (next) return next;
    const people = rows();
    for (let n = people.indexOf(cell.parentElement) + step; n >= 0 && n < people.length; n += step) {
      const found = inCell(people[n].cells[cell.cellIndex]);
      if (found.length) return step > 0 ? found[0] : found[found.length - 1];
    }
    return null;
  }

  function send(work, what, person = "", day = "") {
    sessionStorage.setItem(KEPT, work.dataset.stage);
    form.elements.stage.value = work.dataset.stage;
    form.elements.do.value = what;
    form.elements.person.value = person;
    form.elements.day.value = day;
    form.submit();
  }

  function toDay(work, step) {
    const cell = work.closest("td");
    const next = cell.parentElement.cells[cell.cellIndex + step];
    if (next && next.dataset.day) send(work, "fix", "", next.dataset.day);
    else say("end");
  }

  function toPerson(work, step) {
    const people = rows();
    const able = work.dataset.able.split(" ");
    for (let n = people.indexOf(work.closest("tr")) + step; n >= 0 && n < people.length; n += step) {
      if (able.includes(people[n].dataset.person)) return send(work, "fix", people[n].dataset.person);
    }
    say("nobody");
  }

  const letters = {
    f: (work) => send(work, "fix", work.closest("tr").dataset.person, work.closest("td").dataset.day),
    r: (work) => send(work, "free"),
    s: (work) => send(work, "sooner"),
    l: (work) => send(work, "later"),
    h: (work) => { window.location.href = work.dataset.hold; },
    z: (work) => {
      const undo = document.getElementById("undo");
      sessionStorage.setItem(KEPT, work.dataset.stage);
      if (undo) undo.submit(); else say("nothing");
    },
  };
  const arrows = {
    ArrowRight: [across, 1, toDay], ArrowLeft: [across, -1, toDay],
    ArrowDown: [down, 1, toPerson], ArrowUp: [down, -1, toPerson],
  };

  wall.addEventListener("keydown", (event) => {
    const work = event.target.closest("a.work");
    if (!work || event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = arrows[event.key];
    if (arrow) {
      event.preventDefault();
      if (event.shiftKey && form) arrow[2](work, arrow[1]);
      else if (!event.shiftKey) go(arrow[0](work, arrow[1]));
      return;
    }
    const action = form && !event.shiftKey && letters[event.key.toLowerCase()];
    if (action) { event.preventDefault(); action(work); }
  });

  // dragging is an extra: the same as fixing to a person and a day
  if (form) {
    let dragged = null;
    for (const work of works()) work.draggable = true;
    wall.addEventListener("dragstart", (event) => { dragged = event.target.closest("a.work"); });
    wall.addEventListener("dragover", (event) => {
      const row = event.target.closest("tr");
      const cell = event.target.closest("td[data-day]");
      if (dragged && cell && row && dragged.dataset.able.split(" ").includes(row.dataset.person)) event.preventDefault();
    });
    wall.addEventListener("drop", (event) => {
      const cell = event.target.closest("td[data-day]");
      if (!dragged || !cell) return;
      event.preventDefault();
      send(dragged, "fix", cell.parentElement.dataset.person, cell.dataset.day);
    });
  }

  const kept = sessionStorage.getItem(KEPT);
  if (kept) {
    sessionStorage.removeItem(KEPT);
    go(wall.querySelector(`a.work[data-stage="${CSS.escape(kept)}"]`));
  }
})();
