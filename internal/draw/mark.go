package draw

// Mark is the mark of the program: the bar, cut open, in ink, with a peaked
// block, its side and three layers. It is never coloured. Its size is 16 to 4000
// px; a size outside is drawn at the nearest of these. It takes the colour of the
// words beside it. It is hidden from screen readers, because the name stands
// beside it.
func Mark(size int) string {
	size = min(max(size, 16), maxFace)
	p := pen{b: make([]byte, 0, 700)}
	p.put(`<svg class="mark" xmlns="http://www.w3.org/2000/svg"`)
	p.attr("width", float64(size))
	p.attr("height", float64(size))
	p.put(` viewBox="0 0 32 32" aria-hidden="true" focusable="false">`)
	// At 16 px one unit is only half a pixel. Wide strokes keep the mark clear there.
	p.put(`<g fill="none" stroke="currentColor" stroke-width="2.6" stroke-linejoin="round" stroke-linecap="round">`,
		// The side.
		`<path d="M10 8.6L2.6 3.4V24.8L10 29.4"/>`,
		// The cut face, peaked.
		`<path d="M10 8.6C12.4 11.4 13.6 5 16.6 5.2C19.4 5.4 19.2 9 22 8.8C24.6 8.6 25.4 5.2 29.4 7.2V27.4A2 2 0 0 1 27.4 29.4H10Z"/>`,
		// The edge where free fat lies on soap.
		`<path d="M10 15.4C14 13 16.4 16.6 20 15.4C23.4 14.2 26 14.4 29.4 15.2" stroke-width="2"/></g>`,
		// Soap, solid.
		`<path d="M10 21C14 18.6 17 22.6 21 21C24.4 19.6 26.6 20 29.4 20.8V27.4A2 2 0 0 1 27.4 29.4H10Z" fill="currentColor"/></svg>`)
	return string(p.b)
}
