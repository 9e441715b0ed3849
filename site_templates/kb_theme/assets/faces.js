// The typefaces are made ready while the page is read, before it is first drawn: its lines never move for them.
document.fonts.forEach((face) => { face.load(); });
