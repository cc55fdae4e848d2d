// How wide each plot is shown, the size of its text, and who draws its figure. Plots are drawn for these sizes and drawn
// again when they change.

import type {Figures} from "./figures";
import type {Sizes} from "./plot";

export class MeasuredSizes implements Sizes {
  private readonly widths = new Map<string, number>();
  private readonly watched = new Set<Element>();
  private readonly observer: ResizeObserver;
  private textSize = 15;
  private drawer: Figures | null = null;

  constructor(private readonly changed: () => void) {
    this.observer = new ResizeObserver(() => this.measure());
  }

  width(id: string): number {
    return this.widths.get(id) ?? 340;
  }

  text(): number {
    return this.textSize;
  }

  // Nothing is drawn before the model has started.
  figures(): Figures {
    if (!this.drawer) throw new Error("the model has not been started");
    return this.drawer;
  }

  drawBy(figures: Figures): void {
    this.drawer = figures;
  }

  // To be called after each drawing: looks at new plots, forgets those that are gone.
  watch(root: ParentNode): void {
    const here = new Set<Element>(root.querySelectorAll("[data-plot]"));
    for (const element of this.watched) {
      if (!here.has(element)) {
        this.observer.unobserve(element);
        this.watched.delete(element);
      }
    }
    let fresh = false;
    for (const element of here) {
      if (this.watched.has(element)) continue;
      this.watched.add(element);
      this.observer.observe(element);
      fresh = true;
    }
    if (fresh) this.measure();
  }

  measure(): void {
    let other = false;
    for (const element of this.watched) {
      const id = element.getAttribute("data-plot") ?? "";
      const width = Math.floor(element.clientWidth);
      if (width > 0 && this.widths.get(id) !== width) {
        this.widths.set(id, width);
        other = true;
      }
    }
    const size = parseFloat(getComputedStyle(document.documentElement).getPropertyValue("--plot-text"));
    if (Number.isFinite(size) && size !== this.textSize) {
      this.textSize = size;
      other = true;
    }
    if (other) this.changed();
  }
}
