"use strict";
/* Small helps; everything works without them. */
(function () {
  let tab = sessionStorage.getItem("tab");
  if (!tab) {
    tab = Math.random().toString(36).slice(2) + Date.now().toString(36);
    sessionStorage.setItem("tab", tab);
  }
  document.documentElement.classList.add("live");
  if (matchMedia("(max-width: 62rem)").matches) {
    for (const part of document.querySelectorAll("details.folds")) if (!part.querySelector(".mine")) part.open = false;
  }
  document.addEventListener("htmx:configRequest", (event) => {
    event.detail.headers["X-Tab"] = tab;
    const now = document.querySelector("#make");
    if (now && "revision" in event.detail.parameters) event.detail.parameters.revision = now.dataset.revision;
  });
  document.addEventListener("htmx:beforeSwap", (event) => {
    /* An answer that a newer one has overtaken comes too late. */
    if (!event.detail.requestConfig.elt.isConnected) event.detail.shouldSwap = false;
  });
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (!(field instanceof HTMLInputElement) || !("step" in field.dataset)) return;
    if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
    const comma = field.value.includes(",");
    const text = field.value.trim().replace(",", ".");
    if (text === "" || !/^-?[0-9]*\.?[0-9]+$/.test(text)) return;
    event.preventDefault();
    const places = (text.split(".")[1] || "").length;
    const size = Math.abs(Number(text));
    const step = (size >= 10 ? 1 : size >= 1 ? 0.1 : 0.01) * (event.shiftKey ? 10 : 1);
    const digits = Math.max(places, step >= 1 ? 0 : step >= 0.1 ? 1 : 2);
    const next = Math.max(0, Number(text) + (event.key === "ArrowUp" ? step : -step)).toFixed(digits);
    field.value = comma ? next.replace(".", ",") : next;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  });
})();
