// Figures as the program draws them (sim/figure): each is drawn once for what it shows and its size,
// by a second instance of the model's module, on the thread of the page.

import type {Model, Picture, PictureLook, PictureOf} from "./model";

interface Kept {
  readonly key: string;
  readonly lists: readonly Float64Array[];
  readonly picture: Picture;
}

export class Figures {
  private readonly kept = new Map<string, Kept>();

  constructor(private readonly model: Model) {}

  // The figure of that name; the one before it where it says the same, with the same lists.
  picture(name: string, figure: PictureOf, look: PictureLook): Picture {
    const lists: Float64Array[] = [];
    const key = JSON.stringify([figure, look], (_name, value: unknown) => {
      if (!(value instanceof Float64Array)) return value;
      lists.push(value);
      return null;
    });
    const before = this.kept.get(name);
    if (before?.key === key && before.lists.length === lists.length && before.lists.every((list, i) => list === lists[i])) return before.picture;
    const picture = this.model.figure(figure, look);
    this.kept.set(name, {key, lists, picture});
    return picture;
  }
}
