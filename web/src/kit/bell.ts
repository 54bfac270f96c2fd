// The bell of a timer: two soft tones, repeated until somebody dismisses it, with a shake where the tablet can.
// Honest limit: a page that the system has put to sleep can not ring. Keep the screen on (wakeLock.ts).

const repeatMs = 1500;

/** ring starts the bell and gives back the way to stop it. Without `sound` it only shakes. */
export function ring(sound: boolean): () => void {
  const audio = sound ? openAudio() : null;
  const once = () => {
    if (audio) {
      tone(audio, 880, 0, 0.22);
      tone(audio, 660, 0.26, 0.34);
    }
    navigator.vibrate?.([250, 120, 250]);
  };
  once();
  const timer = setInterval(once, repeatMs);
  return () => {
    clearInterval(timer);
    navigator.vibrate?.(0);
    void audio?.close().catch(() => undefined); // closing an already closed bell is no fault
  };
}

function openAudio(): AudioContext | null {
  if (typeof AudioContext === "undefined") return null;
  try {
    return new AudioContext();
  } catch {
    return null; // no sound device: the screen and the shake remain
  }
}

function tone(audio: AudioContext, hertz: number, afterSeconds: number, seconds: number): void {
  const start = audio.currentTime + afterSeconds;
  const source = audio.createOscillator();
  const volume = audio.createGain();
  source.frequency.value = hertz;
  volume.gain.setValueAtTime(0.0001, start);
  volume.gain.exponentialRampToValueAtTime(0.5, start + 0.02);
  volume.gain.exponentialRampToValueAtTime(0.0001, start + seconds);
  source.connect(volume).connect(audio.destination);
  source.start(start);
  source.stop(start + seconds);
}
