/**
 * Strand condition (5 strong to 1 breaking) over the sessions of a course, as a chain of whole points.
 *
 * States stand by draw and node of the client (the client's own loss, alike in every session), five conditions each.
 */
import { normalCdf } from "./normal.js";

const BEST = 5;
const STRONG = 4; // conditions before stand against it

/**
 * Chances of every condition after a session, by the condition before.
 * @param {Object} losses Of the model: coefficients (rows), sd_client, sd_session, nodes.
 * @param {number[]} treatment Terms of the session: 1, time, log strength, heat, hair, hair, later.
 * @returns {Float64Array} By draw, node, condition before, condition after.
 */
export function conditionAfter(losses, treatment) {
  const { coefficients, nodes, sd_client: ofClient, sd_session: ofSession } = losses;
  const found = new Float64Array(coefficients.length * nodes.length * BEST * BEST);
  let at = 0;
  for (const row of coefficients) {
    const fixed = treatment.reduce((sum, term, j) => sum + term * row[j], 0);
    for (const node of nodes) {
      for (let before = 0; before < BEST; before++, at += BEST) {
        const mean = fixed + row[treatment.length] * (before + 1 - STRONG) + ofClient * node;
        let left = 1;
        let upto = 0;
        for (let points = 0; points < before; points++) {
          const within = normalCdf((points + 0.5 - mean) / ofSession);
          found[at + before - points] = within - upto;
          left -= within - upto;
          upto = within;
        }
        found[at] += left; // whoever loses more than there is ends at 1
      }
    }
  }
  return found;
}

/**
 * Follow condition from session to session.
 * @param {Object} losses Of the model.
 * @param {Float64Array[]} treatments From `conditionAfter`, one a session.
 * @param {number} before Condition before, 1 to 5.
 * @param {number} floor Courses go on as long as it isn't below.
 * @param {number[]} chances Of 1, 2, ..., limit sessions, then of more.
 * @returns {{after: number[][], end: number[], stops: number}} Chances of 1 to 5 after each session, as if every
 *   course went on so far; after a course's last; chance of falling below the floor before the goal is read.
 */
export function followCondition(losses, treatments, before, floor, chances) {
  const rest = untilNext(losses, before);
  const states = treatments[0].length / (BEST * BEST);
  let anyhow = new Float64Array(states * BEST).map((_, i) => (i % BEST === before - 1 ? 1 : 0));
  let strong = anyhow.slice(); // those that were never below the floor
  const after = [];
  const end = [0, 0, 0, 0, 0];
  let [going, alive, stops] = [1, 1, 0]; // going: courses whose goal isn't read yet, whatever their condition
  treatments.forEach((treatment, k) => {
    [anyhow, strong] = [anyhow, strong].map((state) => moved(state, treatment, BEST * BEST));
    const still = mixed(losses, strong);
    after.push(mixed(losses, anyhow));
    const isBelow = still.map((_, place) => place + 1 < floor);
    const ends = k + 1 === treatments.length ? going : chances[k];
    still.forEach((chance, place) => (end[place] += isBelow[place] ? going * chance : ends * chance));
    going -= chances[k];
    alive -= chances[k];
    stops += alive * still.reduce((sum, chance, place) => sum + (isBelow[place] ? chance : 0), 0);
    strong = moved(strong.map((chance, i) => (isBelow[i % BEST] ? 0 : chance)), rest, 0);
    anyhow = moved(anyhow, rest, 0);
  });
  return { after, end, stops };
}

/** States after a step; `stride` 0 where the step is the same for all of them. */
function moved(states, step, stride) {
  const found = new Float64Array(states.length);
  for (let s = 0; s < states.length / BEST; s++) {
    for (let from = 0; from < BEST; from++) {
      const chance = states[s * BEST + from];
      for (let to = 0; to < BEST; to++) {
        found[s * BEST + to] += chance * step[s * stride + from * BEST + to];
      }
    }
  }
  return found;
}

/** Chances of 1 to 5 over all draws and clients. */
function mixed({ coefficients, weights }, states) {
  const found = [0, 0, 0, 0, 0];
  states.forEach((chance, i) => {
    const node = Math.floor(i / BEST) % weights.length;
    found[i % BEST] += (weights[node] / coefficients.length) * chance;
  });
  return found;
}

/** Chances of the condition at the next session, by the condition after the last. */
function untilNext({ recovery }, beforeCourse) {
  const found = new Float64Array(BEST * BEST);
  for (let now = 0; now < BEST; now++) {
    recovery[now + 1 < beforeCourse ? 1 : 0].forEach((share, change) => {
      found[now * BEST + Math.min(Math.max(now + change - 2, 0), BEST - 1)] += share;
    });
  }
  return found;
}
