/** What stands above every view: alarms that ring, what wasn't saved, and what happened to the clock. */

import { everyRunning, happens, now, remembers } from "./app.js";
import { alarmAge, alarmWords, ringing } from "./alarms.js";
import { isAwake } from "./awake.js";
import { clockFace } from "./clock.js";
import { button, made, replaced } from "./dom.js";
import { canSound, ring } from "./sound.js";
import { isRunning } from "./visit.js";

const AGAIN = 3000; // ms from one sound to the next, until somebody has heard it

/**
 * Show the bar as things stand, and sound what rings.
 * @param {Object} app
 * @param {Object} act
 * @param {number} at ms.
 */
export function tellBar(app, act, at) {
  const alarms = ringing(app.book, app.visits, at);
  const rings = alarms.map((one) => [one.code, one.zone, alarmWords(one)]);
  const heard = [app.device.muted, canSound(), isAwake(), app.visits.some(isRunning)];
  const key = JSON.stringify([rings, app.messages, app.notice, heard, app.view.code]);
  const words = alarms.map(alarmWords).join("; ");
  if (key !== app.barKey) {
    app.barKey = key;
    replaced(document.getElementById("bar"), ...alarms.map((alarm) => alarmRow(app, act, alarm)),
      ...app.messages.map((message, number) => messageRow(app, message, number)), ...noticeRow(app),
      ...mutedRow(app, alarms));
    replaced(document.getElementById("sound"), ...soundRow(app, alarms));
    document.title = words === "" ? "Visit recorder" : `${words} – visit recorder`;
    const spoken = document.getElementById("alarm-words");
    const told = [words, ...app.messages.map((one) => one.text)].filter(Boolean).join(". ");
    if (spoken.textContent !== told) spoken.textContent = told;
    measureBar();
  }
  for (const alarm of alarms) {
    document.getElementById(`age-${alarm.code}-${alarm.zone}-${alarm.what}`).textContent = alarmAge(alarm);
  }
  if (alarms.length > 0 && !app.device.muted && at - (app.rang ?? 0) >= AGAIN) {
    app.rang = at;
    ring(alarms[0].what);
  }
}

/** What is scrolled to, by a tap or the keyboard, stops below the bar: its height is told to the style. */
export function measureBar() {
  const { offsetHeight } = document.getElementById("bar");
  document.documentElement.style.setProperty("--bar", `${offsetHeight}px`);
}

function alarmRow(app, act, alarm) {
  const id = `${alarm.code}-${alarm.zone}-${alarm.what}`;
  const heard = () => happens(app, alarm.code,
    { type: "heard", zone: alarm.zone, what: alarm.what, at: now(app) }, `heard: ${alarmWords(alarm)}`);
  return made("div", { class: `alarm ${alarm.what}` },
    made("p", {}, made("strong", {}, alarmWords(alarm)), " ", made("span", { id: `age-${id}` })),
    button(`show-${id}`, "Show", () => act.go({ name: "visit", code: alarm.code }, `zone-${alarm.zone}`),
      { "aria-label": `show: ${alarm.client}, ${alarm.zoneName}` }),
    button(`heard-${id}`, "Heard", heard, { "aria-label": `heard: ${alarmWords(alarm)}` }));
}

function messageRow(app, message, number) {
  const read = () => {
    app.messages = app.messages.filter((one) => one !== message);
    app.show(app, false);
  };
  return made("div", { class: "alarm message" }, made("p", {}, message.text),
    button(`message-read-${number}`, "Read", read));
}

function noticeRow(app) {
  const { notice } = app;
  if (!notice) return [];
  const done = () => {
    app.notice = null;
    app.show(app, false);
  };
  const shift = (by) => async () => {
    await everyRunning(app, { type: "shift", until: notice.now, by });
    done();
  };
  const long = clockFace(notice.ms + 500); // to the nearest second
  const [words, otherwise] = {
    slept: [`The device slept for ${long}; that time counts.`, ["It didn't: its clock was set", shift(notice.ms)]],
    forward: [`The device's clock was put forward by ${long}; the minutes go on as before.`,
      ["It slept: count that time", shift(-notice.ms)]],
    back: [`The device's clock was put back by ${long}; the minutes go on as before.`, null],
    closed: [`This page was closed for ${long} by the device's clock; that time counts.`, null],
    unknown: ["The device's clock went back while this page was closed. Say for each zone how many minutes have "
      + "passed.", null],
  }[notice.kind];
  return [made("div", { class: "notice" }, made("p", { role: "status" }, words),
    otherwise ? button("notice-otherwise", ...otherwise) : null, button("notice-read", "All right", done))];
}

function muteButton(app, words) {
  return button("mute", words, () => remembers(app, (device) => ({ ...device, muted: !device.muted })));
}

/** While an alarm rings unheard the way back to its sound stays in sight. */
function mutedRow(app, alarms) {
  if (alarms.length === 0 || !app.device.muted) return [];
  return [made("div", { class: "muted" }, made("p", {}, "Sound is off."), muteButton(app, "Turn on"))];
}

function soundRow(app, alarms) {
  if (!app.visits.some(isRunning) && alarms.length === 0) return [];
  const { muted } = app.device;
  const sound = muted ? "Sound is off." : canSound() ? "Sound is on." : "Tap anywhere to let alarms sound.";
  const screen = isAwake() ? "The screen stays on." : "Keep the screen on: a sleeping device can't ring.";
  if (muted && alarms.length > 0) return [made("span", {}, screen)];
  return [made("span", {}, `${sound} ${screen}`), muteButton(app, muted ? "Sound on" : "Mute")];
}
