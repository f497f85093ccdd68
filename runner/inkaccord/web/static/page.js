// What the page does beyond its forms: it shows how far a run is, and comes back when it has ended.
const running = document.querySelector("[data-progress]");
if (running) {
  const events = new EventSource(running.dataset.progress);
  events.onmessage = (event) => { running.querySelector("[data-line]").textContent = event.data; };
  events.addEventListener("end", () => { events.close(); location.reload(); });
}
