// Marks that scripts run, so that what only helps without them can step back.
document.documentElement.classList.add("js");
