// The player: plucked notes from the desk, put on the clock of Web Audio a little ahead of time.
//
// Score seconds are those of the cue sheet; what is heard at a moment follows from anchors, each a
// moment of the clock with the place in the score that is heard then.

const AHEAD_S = 1.5; // a page that is hidden is looked at once a second only
const EVERY_MS = 200;
const FIRST_S = 0.08;
const RATE_HZ = 48000; // of all that the desk renders

export class Player {
  constructor() {
    this.kept = new Map(); // samples by their addresses
    this.live = [];
    this.speed = 1;
    this.loop = null; // { from, to } in score seconds
    this.gains = { melody: 1, accompaniment: 1 };
    this.isInRoom = true;
    this.timer = 0;
    this.ended = () => {};
  }

  get isPlaying() { return this.timer !== 0; }

  /** Take a cue sheet, and fetch what samples it needs. `tell` hears how many are there. */
  async load(sheet, tell) {
    this.sheet = sheet;
    this.open();
    const wanted = [...new Set(Object.values(sheet.samples))].filter((address) => !this.kept.has(address));
    let there = 0;
    await this.furnish();
    await Promise.all(wanted.map(async (address) => {
      const answer = await fetch(address);
      if (!answer.ok) throw new Error("A note could not be fetched from the desk.");
      this.kept.set(address, await this.context.decodeAudioData(await answer.arrayBuffer()));
      tell(++there, wanted.length);
    }));
  }

  open() {
    if (this.context) { this.context.resume(); return; }
    this.context = new AudioContext({ latencyHint: "playback", sampleRate: RATE_HZ });
    // Whatever is turned up, peaks are held below full scale.
    const limiter = new DynamicsCompressorNode(this.context, { threshold: -6, knee: 3, ratio: 20, attack: 0.002, release: 0.15 });
    limiter.connect(this.context.destination);
    this.voices = {};
    for (const voice of ["melody", "accompaniment"]) {
      this.voices[voice] = new GainNode(this.context, { gain: this.gains[voice] });
      this.voices[voice].connect(limiter);
    }
    this.room = new GainNode(this.context, { gain: this.isInRoom ? 1 : 0 });
    this.room.connect(limiter);
    this.clicks = new GainNode(this.context, { gain: 1 });
    this.clicks.connect(limiter);
    this.context.resume();
  }

  /** Walls and ceiling: what they give back comes beside what is heard directly. */
  async furnish() {
    if (this.walls) return;
    const answer = await fetch("/sound/room");
    if (!answer.ok) throw new Error("The room could not be fetched from the desk.");
    const numbers = new Float32Array(await answer.arrayBuffer());
    const length = numbers.length / 2;
    const buffer = new AudioBuffer({ length, numberOfChannels: 2, sampleRate: RATE_HZ });
    for (const ear of [0, 1]) buffer.copyToChannel(numbers.subarray(ear * length, (ear + 1) * length), ear);
    this.walls = new ConvolverNode(this.context, { buffer, disableNormalization: true });
    this.walls.connect(this.room);
    for (const voice of Object.values(this.voices)) voice.connect(this.walls);
  }

  setRoom(isInRoom) {
    this.isInRoom = isInRoom;
    this.room?.gain.setTargetAtTime(isInRoom ? 1 : 0, this.context.currentTime, 0.02);
  }

  /** Play from a place of the score; with a count-in, so many beats of so many score seconds come before. */
  async play(from, count = { beats: 0, length: 0 }) {
    this.stop();
    await this.context.resume();
    const start = this.context.currentTime + FIRST_S;
    const beat = count.length / this.speed;
    for (let index = 0; index < count.beats; index += 1) this.click(start + index * beat, count.firsts?.includes(index));
    this.anchors = [{ time: start + count.beats * beat, at: from }];
    this.next = this.find(from);
    this.timer = setInterval(() => this.schedule(), EVERY_MS);
    this.schedule();
  }

  stop() {
    clearInterval(this.timer);
    this.timer = 0;
    const now = this.context?.currentTime ?? 0;
    for (const each of this.live) hush(each, now, this.sheet.stop_s);
    this.live = [];
  }

  /** Another tempo, also while it plays: what is not yet heard is put on the clock anew. */
  setSpeed(speed) {
    if (!this.isPlaying) { this.speed = speed; return; }
    const now = Math.max(this.context.currentTime, this.anchors[0].time);
    const at = this.placeAt(now);
    this.speed = speed;
    this.anchors = [{ time: now, at }];
    this.takeBack(now);
    this.next = this.find(at);
    for (const each of this.live) end(each, Math.max(now + (each.stop - at) / speed, now), this.sheet.stop_s);
    this.schedule();
  }

  /** Another loop, or none, also while it plays. */
  setLoop(loop) {
    this.loop = loop;
    if (!this.isPlaying) return;
    const now = Math.max(this.context.currentTime, this.anchors[0].time);
    this.anchors = [{ time: now, at: this.placeAt(now) }];
    this.takeBack(now);
    this.next = this.find(this.anchors[0].at);
    this.schedule();
  }

  setGain(voice, gain) {
    this.gains[voice] = gain;
    this.voices?.[voice].gain.setTargetAtTime(gain, this.context.currentTime, 0.02);
  }

  /** The place in the score that is heard at a moment of the clock. */
  placeAt(time) {
    const anchor = this.anchors.findLast((each) => each.time <= time) ?? this.anchors[0];
    return anchor.at + Math.max(0, time - anchor.time) * this.speed;
  }

  /** The place that is heard now; before the count-in is over it is none. */
  get place() {
    if (!this.isPlaying) return null;
    const heard = this.context.currentTime - (this.context.outputLatency || 0);
    return heard < this.anchors[0].time ? null : this.placeAt(heard);
  }

  find(at) {
    const index = this.sheet.notes.findIndex((note) => note.onset_s >= at - 0.001);
    return index < 0 ? this.sheet.notes.length : index;
  }

  schedule() {
    const horizon = this.context.currentTime + AHEAD_S;
    for (;;) {
      const { time, at } = this.anchors.at(-1);
      const note = this.sheet.notes[this.next];
      const end = this.loop && at < this.loop.to ? this.loop.to : this.sheet.duration_s;
      if (note && note.onset_s < end - 0.001) {
        const when = time + (note.onset_s - at) / this.speed;
        if (when > horizon) break;
        this.pluck(note, when, end);
        this.next += 1;
      } else {
        const over = time + (end - at) / this.speed;
        if (over > horizon) break;
        if (!this.loop) { if (this.context.currentTime > over) this.finish(); break; }
        this.anchors.push({ time: over, at: this.loop.from });
        this.next = this.find(this.loop.from);
      }
    }
    this.live = this.live.filter((each) => each.over > this.context.currentTime);
  }

  finish() { this.stop(); this.ended(); }

  pluck(note, when, limit) {
    const source = new AudioBufferSourceNode(this.context, { buffer: this.kept.get(this.sheet.samples[note.sample]) });
    const gain = new GainNode(this.context, { gain: note.gain });
    source.connect(gain).connect(this.voices[note.voice]);
    const each = { source, gain, level: note.gain, when, stop: Math.min(note.onset_s + note.duration_s, limit), over: Infinity };
    source.start(Math.max(when, this.context.currentTime));
    end(each, when + (each.stop - note.onset_s) / this.speed, this.sheet.stop_s);
    this.live.push(each);
  }

  /** What was put on the clock for later is taken from it. */
  takeBack(now) {
    for (const each of this.live.filter((one) => one.when > now)) { each.source.stop(); each.source.disconnect(); }
    this.live = this.live.filter((each) => each.when <= now);
  }

  click(when, isFirst) {
    const source = new OscillatorNode(this.context, { frequency: isFirst ? 1650 : 1180 });
    const gain = new GainNode(this.context, { gain: 0 });
    source.connect(gain).connect(this.clicks);
    gain.gain.setValueAtTime(0, when);
    gain.gain.linearRampToValueAtTime(isFirst ? 0.16 : 0.11, when + 0.002);
    gain.gain.setTargetAtTime(0, when + 0.002, 0.018);
    source.start(when);
    source.stop(when + 0.15);
    this.live.push({ source, gain, level: 0, when, stop: 0, over: when + 0.15, isClick: true });
  }
}

/** A finger comes on the string: it dies within `seconds`. */
function end(each, when, seconds) {
  if (each.isClick) return;
  const { gain } = each.gain;
  gain.cancelScheduledValues(0);
  gain.setValueAtTime(each.level, when);
  gain.linearRampToValueAtTime(0, when + seconds);
  each.over = when + seconds;
  each.source.stop(each.over + 0.01);
}

function hush(each, now, seconds) {
  each.gain.gain.cancelScheduledValues(0);
  each.gain.gain.setTargetAtTime(0, now, seconds / 3);
  each.source.stop(now + 3 * seconds);
}
