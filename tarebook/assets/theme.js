// The theme that was chosen, before anything is drawn.
const chosen = localStorage.getItem("theme") || new URLSearchParams(location.search).get("theme");
if (chosen === "dark" || chosen === "light") document.documentElement.dataset.theme = chosen;
