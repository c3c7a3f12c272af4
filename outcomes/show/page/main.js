import { openModel } from "./answers.js";
import { make } from "./elements.js";
import { fillHandout } from "./handout.js";
import { refreshControls, rootShadeControls } from "./fade_controls.js";
import { newClients } from "./new_client.js";
import { refreshTold } from "./refresh_told.js";
import { rootShadeTold } from "./root_shade_told.js";
import { sessionsControls } from "./sessions_controls.js";
import { sessionsTold } from "./sessions_told.js";
import { tabs } from "./tabs.js";
import { testsAsked } from "./tests_asked.js";
import { view } from "./view.js";
import { voice } from "./heard.js";

/** The page: opens its model, puts the views together, and keeps them in step with what is entered. */

const byId = (id) => document.getElementById(id);

function embeddedJson(id) {
  const text = byId(id)?.textContent;
  if (!text) throw new Error("its figures are missing");
  try {
    return JSON.parse(text);
  } catch {
    throw new Error("its figures are damaged");
  }
}

function viewsOf(model, changed) {
  const { choices } = model;
  const { cautions, leftOut } = choices;
  const hasFade = choices.roots || choices.toner;
  return [
    view({
      title: "Sessions",
      controls: sessionsControls(model, changed),
      told: (question) => sessionsTold(model, question),
      cautions,
    }),
    view({
      title: "Root shade",
      controls: choices.roots && rootShadeControls(choices, changed),
      missing: leftOut.level,
      told: (question) => rootShadeTold(model, question),
      cautions,
    }),
    view({
      title: "Refresh",
      controls: hasFade && refreshControls(choices, changed),
      missing: leftOut.tone_left ?? leftOut.level,
      told: (question) => refreshTold(model, question),
      cautions,
    }),
  ];
}

function meet(model, say) {
  const own = { shown: 0, views: [] };
  let waiting = 0;
  const answer = () => own.views[own.shown].refresh(asked.reminder());
  // several changes before the next picture is due are answered once
  const changed = () => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(tell);
  };
  const asked = testsAsked(changed);
  let heard = asked.reminder();
  const tell = () => {
    const reminder = asked.reminder();
    const news = reminder === heard ? [] : [reminder || "Patch test and strand test: done."];
    say([...news, answer()].join(" "), () => {
      heard = reminder;
    });
  };
  own.views = viewsOf(model, changed);
  const row = tabs("Questions", own.views, (number, isFirst) => {
    own.shown = number;
    own.views[number].ask.prepend(asked.element);
    if (isFirst) answer();
    else tell();
  });
  row.show(0, true);
  return {
    parts: [row.element, ...own.views.map((one) => one.panel)],
    fillHandout() {
      // what is still being typed, or was changed a moment ago, belongs on it too
      if (document.activeElement?.matches("[role=spinbutton]")) document.activeElement.dispatchEvent(new Event("change"));
      answer();
      fillHandout(byId("handout"), own.views[own.shown].told, asked.toDo(), model.choices.cautions, new Date());
    },
  };
}

function start() {
  try {
    const model = openModel(embeddedJson("model"));
    const say = voice(byId("heard"));
    const now = { client: meet(model, say) };
    const show = (client) => {
      now.client = client;
      byId("views").replaceChildren(...client.parts);
    };
    show(now.client);
    addEventListener("beforeprint", () => now.client.fillHandout());
    newClients({
      buttons: { fresh: byId("new-client"), undo: byId("undo") },
      current: () => now.client,
      meetNew: () => meet(model, say),
      show,
      say,
    });
  } catch (fault) {
    const why = `This page can't answer: ${fault.message}.`.replace("..", ".");
    byId("views").replaceChildren(
      make("div", { role: "alert", class: "failed" }, make("p", {}, why), make("p", {}, "Write it anew with outcomes page, and copy the whole file.")),
    );
  }
}

start();
