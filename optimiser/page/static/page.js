"use strict";
/* Small helps; everything works without them. */
(function () {
  let tab = sessionStorage.getItem("tab");
  if (!tab) {
    tab = Math.random().toString(36).slice(2) + Date.now().toString(36);
    sessionStorage.setItem("tab", tab);
  }
  document.documentElement.classList.add("live");
  const narrow = matchMedia("(max-width: 62rem)");
  const folds = () => document.querySelector("#work details.folds");
  if (narrow.matches && folds() && !folds().querySelector(".mine")) folds().open = false;
  /* What was folded stays so when it is put in place anew. */
  let folded = false;
  document.addEventListener("htmx:beforeSwap", () => { folded = Boolean(folds()) && !folds().open; });
  document.addEventListener("htmx:afterSettle", () => { if (folded && folds()) folds().open = false; });
  document.addEventListener("htmx:configRequest", (event) => {
    event.detail.headers["X-Tab"] = tab;
    const form = event.detail.elt;
    if (form.dataset.stepped) event.detail.parameters.stepped = "yes";
    delete form.dataset.stepped;
    /* With another limit refused, its fields hold what is not asked: then all is shown anew. */
    const refused = document.querySelector("#refused");
    const rule = event.detail.parameters.rule;
    if (refused && rule !== undefined && rule !== refused.dataset.rule) event.detail.parameters.whole = "yes";
  });
  /* The fields of a limit that cannot be are marked as long as the notice of it stands there. */
  document.addEventListener("htmx:afterSettle", () => {
    const refused = document.querySelector("#refused");
    for (const form of document.querySelectorAll("form.limit")) {
      const wrong = refused && form.querySelector("[name=rule]").value === refused.dataset.rule;
      for (const field of form.querySelectorAll("[name=low], [name=high]")) {
        if (!wrong) {
          field.removeAttribute("aria-invalid");
          field.removeAttribute("aria-describedby");
          continue;
        }
        field.setAttribute("aria-invalid", "true");
        field.setAttribute("aria-describedby", "refused");
      }
    }
  });
  document.addEventListener("htmx:beforeSwap", (event) => {
    /* An answer that a newer one has overtaken comes too late. */
    if (!event.detail.requestConfig.elt.isConnected) event.detail.shouldSwap = false;
  });
  /* Where the keys were before a part of the page was put in place anew, there they are after it. */
  let place = null;
  const markOf = (field) => {
    const form = field.closest("form");
    const asked = (name) => (form && form.querySelector(`[type=hidden][name=${name}]`) || {}).value || "";
    return [form ? form.getAttribute("action") : "", asked("what"), asked("undo"), asked("rule"), field.tagName, field.name || ""].join("|");
  };
  document.addEventListener("htmx:beforeSwap", () => {
    const now = document.activeElement;
    place = now && now !== document.body ? markOf(now) : null;
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (!place || document.activeElement !== document.body) return;
    const part = event.detail.target;
    const same = [...part.querySelectorAll("button, select, input:not([type=hidden])")].find((one) => markOf(one) === place);
    const next = same || part.querySelector("h2");
    if (!next) return;
    if (!same) next.tabIndex = -1;
    next.focus({ preventScroll: true });
  });
  /* Words that only become visible are told to nobody who listens; words that are put into the page are. */
  const aloud = document.querySelector("#at-work");
  let soon = 0;
  const tell = () => {
    const busy = document.querySelector("#busy.htmx-request p");
    soon = 0;
    if (busy && !aloud.textContent) aloud.textContent = busy.textContent;
  };
  if (aloud) {
    document.addEventListener("htmx:beforeRequest", (event) => {
      const asksByItself = event.detail.elt.getAttribute("hx-indicator") === "this";
      if (!asksByItself) soon = soon || setTimeout(tell, 300);
    });
    document.addEventListener("htmx:afterRequest", () => {
      if (document.querySelector("#busy.htmx-request")) return;
      clearTimeout(soon);
      soon = 0;
      aloud.textContent = "";
    });
  }
  /* What was pressed and waited for goes on by itself. */
  const goOn = () => {
    const go = document.querySelector("form[data-go]");
    if (go) go.requestSubmit();
  };
  document.addEventListener("htmx:afterSettle", goOn);
  goOn();
  /* Nobody waits for a program that has ended. */
  document.addEventListener("htmx:sendError", (event) => {
    const wait = event.detail.elt.closest(".wait");
    const words = wait && wait.querySelector("p");
    if (!words) return;
    const again = document.createElement("a");
    again.href = location.href;
    again.textContent = "Look again";
    words.replaceChildren("The page does not answer. Where its program has ended, start it anew. ", again);
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
    if (field.form) field.form.dataset.stepped = "yes";
    field.value = comma ? next.replace(".", ",") : next;
    field.dispatchEvent(new Event("stepped", { bubbles: true }));
  });
})();
