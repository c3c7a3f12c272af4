/** The page: opens what is kept, shows a view, and looks at the clock once a second. */

import { beat, keep, newApp, now, open, readAgain } from "./app.js";
import { keepAwake } from "./awake.js";
import { measureBar, tellBar } from "./bar.js";
import { button, made, replaced } from "./dom.js";
import { leaveView } from "./leave_view.js";
import { unlockSound } from "./sound.js";
import { startView } from "./start_view.js";
import { askToKeep, openStore, Silent } from "./store.js";
import { isRunning } from "./visit.js";
import { visitView } from "./visit_view.js";
import { washView } from "./wash_view.js";

const TICK = 1000; // ms
const OTHERS = 5; // ticks after which another window's changes are looked for

/**
 * Show how things stand; but while something is still being kept, wait for it: a view of what was before would
 * take away what was typed since.
 */
function shows(app, anew = true) {
  app.owed ||= anew;
  if (app.waiting > 0) return;
  const all = app.owed;
  app.owed = false;
  shown(app, all);
}

function shown(app, anew) {
  const at = now(app);
  if (anew) {
    app.faces = [];
    app.hints = [];
    replaced(document.getElementById("view"), ...viewOf(app));
  } else {
    for (const hint of app.hints) hint();
  }
  told(app, at);
  if (anew) goOn(app); // below the bar as it is by now
  document.getElementById("said").textContent = app.said;
}

/** Where a tap leads to another part of the same view, that part comes into sight. */
function goOn(app) {
  const goal = app.goal ? document.getElementById(app.goal) : null;
  app.goal = "";
  goal?.focus({ preventScroll: true });
  goal?.scrollIntoView({ block: "start" });
}

function told(app, at) {
  for (const face of app.faces) face(at);
  tellBar(app, app.act, at);
}

function viewOf(app) {
  if (app.view.name === "wash") return washView(app, app.act);
  if (app.view.name === "leave") return leaveView(app, app.act);
  const visit = app.view.name === "visit" ? app.visits.find((one) => one.code === app.view.code) : null;
  return visit ? visitView(app, app.act, visit) : startView(app, app.act);
}

function actsOf(app) {
  return {
    go(view, goal = "") {
      const other = view.name !== app.view.name;
      app.view = view;
      app.goal = goal;
      shows(app);
      if (!other || goal) return;
      scrollTo(0, 0);
      document.getElementById("view").focus({ preventScroll: true });
    },
    async forget(code) {
      const gone = await keep(app, async (places) => {
        const visit = await places.get("visits", code);
        const begun = visit?.zones.some((zone) => zone.steps.length > 0);
        if (visit && !begun) await places.drop("visits", code);
        return !begun;
      }, "that the visit is thrown away");
      if (gone) app.visits = app.visits.filter((visit) => visit.code !== code);
      this.go({ name: "start" });
    },
  };
}

function watched(app) {
  let ticks = 0;
  const tick = async () => {
    told(app, now(app));
    ticks += 1;
    keepAwake(app.visits.some(isRunning)).catch(() => {});
    await beat(app);
    if (ticks % OTHERS === 0 && !document.hidden && (await readAgain(app))) shows(app);
  };
  setInterval(tick, TICK);
  new ResizeObserver(measureBar).observe(document.getElementById("bar"));
  document.addEventListener("visibilitychange", async () => {
    if (document.hidden) {
      app.wasHidden = true;
      return;
    }
    now(app);
    if (await readAgain(app)) shows(app);
    await tick();
  });
  document.addEventListener("freeze", () => {
    app.wasHidden = true;
  });
  document.addEventListener("pointerdown", unlockSound);
  document.addEventListener("keydown", unlockSound);
}

function cantKeep(error) {
  const isSilent = error instanceof Silent;
  const why = isSilent
    ? "This browser's storage doesn't answer, so nothing can be recorded here now. What was recorded before isn't "
      + "touched."
    : `This browser doesn't let the page keep anything, so nothing can be recorded here (${error?.name ?? "unknown"}).`;
  const next = isSilent
    ? "Close all other windows of this page, then load it again. If that doesn't help, close the browser and open it "
      + "again, then restart the device. Meanwhile write on paper."
    : "Leave private browsing, allow this page to store data, or open it in another browser.";
  document.getElementById("view").replaceChildren(made("h1", {}, "Visit recorder"),
    made("div", { class: "alarm message", role: "alert" }, made("p", {}, why), made("p", {}, next),
      isSilent ? button("again", "Load again", () => location.reload()) : null));
}

async function started() {
  const book = JSON.parse(document.getElementById("book").textContent);
  let app = null;
  // the script runs, which the page's own words doubt
  document.getElementById("view").lastElementChild.textContent = "Opening what is kept on this device.";
  try {
    app = newApp(book, await openStore());
    app.tell = (words) => {
      app.said = words;
      document.getElementById("said").textContent = words;
    };
    app.show = shows;
    app.act = actsOf(app);
    app.faces = [];
    app.hints = [];
    await open(app);
  } catch (error) {
    cantKeep(error);
    return;
  }
  askToKeep();
  shows(app);
  watched(app);
}

started();
