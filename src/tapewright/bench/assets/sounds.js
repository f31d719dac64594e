// For busy hands: two tones, or a spoken word, for one contact. Pitches as those of the command line's watch.

const [REFERENCE_HZ, EACH_S, LOUD, MOST_OCTAVES] = [440, 0.09, 0.2, 2];
const [ON_TIME_MS, NOT_BEFORE_MS] = [0.05, 1500];

export class Sounds {
  constructor(tone, speak, says) {
    Object.assign(this, { tone, speak, says, context: null, spokenAt: -1e9 });
    tone.addEventListener("change", () => this.wake());
    speak.addEventListener("change", () => this.voice());
  }

  begin(elements) {
    if (this.tone.options.length > 1) return;
    for (let contact = 1; contact <= elements; contact += 1) this.tone.append(new Option(`${contact}`, `${contact}`));
    this.tone.append(new Option("stop", "stop"));
  }

  /** A browser lets a page sound only after a touch. */
  wake() {
    if (this.tone.value) this.context ??= new AudioContext();
  }

  /** A voice that lives on this machine; a voice on the network would send what is keyed away. */
  voice() {
    const voices = window.speechSynthesis?.getVoices().filter((voice) => voice.localService) ?? [];
    this.says.textContent = this.speak.checked && !voices.length
      ? "This browser has no voice of its own here; tones still sound. A speech package of the system gives it one." : "";
    return voices.find((voice) => voice.lang.startsWith("en")) ?? voices[0];
  }

  take(needles) {
    const needle = needles.find((each) => each.contact === this.tone.value && each.direction === "closing");
    if (!needle) return;
    if (this.speak.checked) this.say(needle.late_ms.value);
    this.sound(needle.late_ms.value);
  }

  sound(late) {
    if (!this.context) return;
    const octaves = Math.min(MOST_OCTAVES, Math.max(-MOST_OCTAVES, late));
    [REFERENCE_HZ, REFERENCE_HZ * 2 ** octaves].forEach((pitch, place) => this.beep(pitch, place * EACH_S));
  }

  beep(pitch, after) {
    const [tone, loud, begins] = [this.context.createOscillator(), this.context.createGain(), this.context.currentTime + after];
    tone.frequency.value = pitch;
    loud.gain.setValueAtTime(0, begins);
    loud.gain.linearRampToValueAtTime(LOUD, begins + 0.008);
    loud.gain.linearRampToValueAtTime(0, begins + EACH_S);
    tone.connect(loud).connect(this.context.destination);
    tone.start(begins);
    tone.stop(begins + EACH_S);
  }

  say(late) {
    const voice = this.voice();
    if (!voice || performance.now() - this.spokenAt < NOT_BEFORE_MS) return;
    this.spokenAt = performance.now();
    const words = Math.abs(late) < ON_TIME_MS ? "on time" : `${Math.abs(late).toFixed(1)} ${late > 0 ? "late" : "early"}`;
    const said = new SpeechSynthesisUtterance(words);
    said.voice = voice;
    window.speechSynthesis.cancel();
    window.speechSynthesis.speak(said);
  }
}
