// How the ways are told apart: a hue each, a dash pattern each for the current, and the name on the curve.

const DASHES = [[7, 3], [2, 3], [10, 3, 2, 3], [4, 3], [13, 4], [7, 3, 2, 3, 2, 3], [1, 2], [10, 3, 4, 3], [3, 3, 8, 3], [5, 6]];

export function hue(number) {
  return getComputedStyle(document.documentElement).getPropertyValue(`--way-${number % 10}`).trim();
}

export function dash(number) {
  return DASHES[number % DASHES.length];
}
