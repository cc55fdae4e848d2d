// A knob: a slider with its name and what it says.

import {html, type TemplateResult} from "lit-html";

interface Slider {
  readonly id: string;
  readonly label: string;
  readonly low: number;
  readonly high: number;
  readonly step: number;
  readonly value: number;
  readonly say: (value: number) => string;
  readonly to: (value: number, done: boolean) => void;
}

export function slider(row: Slider): TemplateResult {
  const value = (event: Event) => Number((event.target as HTMLInputElement).value);
  return html`<div class="knob"><label for=${row.id}>${row.label}</label><output for=${row.id}>${row.say(row.value)}</output>
    <input type="range" id=${row.id} min=${row.low} max=${row.high} step=${row.step} .value=${String(row.value)} aria-valuetext=${row.say(row.value)}
      @input=${(e: Event) => row.to(value(e), false)} @change=${(e: Event) => row.to(value(e), true)}></div>`;
}
