export const holds = "what a person likes to read and touch: units, numbers, light, sound, target size";
export const mayTouch = ["kit", "units", "app/paths", "app/route", "app/session"];
export const never = "send anything: these choices stay in this browser";
