/** Sounds of alarms, made here: no file is played. A browser lets a page sound only after a tap. */

const kept = { context: null };

/** Let sounds be heard; to be called by a tap. */
export function unlockSound() {
  try {
    kept.context ??= new AudioContext();
    if (kept.context.state !== "running") kept.context.resume();
  } catch {
    kept.context = null; // no sound on this device: alarms are seen
  }
}

/**
 * Whether a sound would be heard.
 * @returns {boolean}
 */
export function canSound() {
  return kept.context?.state === "running";
}

/**
 * Sound an alarm once: a look is two tones, a time limit four higher ones.
 * @param {string} what "look" or "limit".
 */
export function ring(what) {
  if (!canSound()) return;
  const tones = what === "limit" ? [988, 988, 988, 988] : [659, 784];
  tones.forEach((pitch, number) => tone(kept.context, pitch, kept.context.currentTime + 0.25 * number));
}

function tone(context, pitch, from) {
  const source = context.createOscillator();
  const loudness = context.createGain();
  source.frequency.value = pitch;
  loudness.gain.setValueAtTime(0, from);
  loudness.gain.linearRampToValueAtTime(0.5, from + 0.02);
  loudness.gain.linearRampToValueAtTime(0, from + 0.2);
  source.connect(loudness).connect(context.destination);
  source.start(from);
  source.stop(from + 0.22);
}
