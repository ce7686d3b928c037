package draw

// Marks is the pattern of l inside its tile of w × h px, as SVG path data for
// pictures that are not SVG, such as a PDF. Strokes are drawn weight px wide;
// dots are filled. Both are empty for the plain stratum.
func (l Look) Marks() (w, h, weight float64, strokes, dots string) {
	return l.tileW, l.tileH, l.weight, l.strokes, l.dots
}
