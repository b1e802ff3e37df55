// The question that is shown stays until the reader goes on, answered or not.
const shown = document.querySelector("[data-question]");
if (shown && !new URLSearchParams(location.search).has("question")) {
  history.replaceState(null, "", `?question=${encodeURIComponent(shown.dataset.question)}`);
}
