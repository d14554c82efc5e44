/** Runs on the audio thread: hands on what comes in, sample by sample, and lets silence out. */

/** @typedef {new () => {readonly port: MessagePort}} ProcessorClass */

const Processor = /** @type {ProcessorClass} */ (Reflect.get(globalThis, "AudioWorkletProcessor"));
const register = /** @type {(name: string, made: ProcessorClass) => void} */ (Reflect.get(globalThis, "registerProcessor"));

class PcmTap extends Processor {
  /** @param {Float32Array[][]} inputs */
  process(inputs) {
    const heard = inputs[0]?.[0];
    if (heard) this.port.postMessage(heard.slice());
    return true;
  }
}

register("pcm-tap", PcmTap);
