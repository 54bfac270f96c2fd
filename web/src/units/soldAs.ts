// What a garment is sold as, in words: the rules know them as "infant-one-piece".

/** soldAsText writes one of the rules' words for people; "t-shirt" keeps its hyphen, as "one-piece" does. */
export const soldAsText = (soldAs: string): string =>
  soldAs === "t-shirt" ? "T-shirt" : soldAs.replaceAll("-", " ").replace("one piece", "one-piece");
