"use strict";
new EventSource("changes?seen=" + document.body.dataset.seen).addEventListener("change", () => location.reload());
