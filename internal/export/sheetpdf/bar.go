package sheetpdf

import (
	"fmt"
	"slices"
	"strconv"

	"barwright/internal/draw"
	"barwright/quantity"

	"codeberg.org/go-pdf/fpdf"
)

// The picture of the bar, mm.
const (
	barTop   = 10.0 // room for its title
	faceW    = 22.0
	faceH    = 52.0
	depthX   = 4.6 // how far the body extends back, to the left and upwards
	depthY   = 3.0
	barRow   = 4.5
	pxMM     = 0.19 // size on paper of one px of a pattern
	tableX   = barX + depthX + faceW + 3
	swatchW  = 8.4
	swatchH  = 3.9
	lettersH = 3.4 // the least height of a stratum that gets its letters
)

func (p *page) barHeight() float64 { return barTop + depthY + faceH + 2 }

// bar draws the bar, cut open, and its table, from y down.
func (p *page) bar(y float64) error {
	p.text(barX, y+5.4, serifB, 14, "The bar, cut open, %")
	b, ok := draw.BarOfSheet(p.s)
	if !ok {
		return nil
	}
	face, err := draw.CutFace(b, faceW, faceH, "")
	if err != nil {
		return fmt.Errorf("drawing the bar: %w", err)
	}
	ox, oy := p.x0+barX+depthX, y+barTop+depthY
	at := func(q draw.Point) fpdf.PointType { return fpdf.PointType{X: ox + q.X, Y: oy + q.Y} }
	// The body is behind the face.
	bands := face.Bands
	front := flat(bands[len(bands)-1].Upper)
	p.f.SetFillColor(255, 255, 255)
	p.f.SetLineWidth(inkBar)
	p.f.SetLineJoinStyle("round")
	p.f.SetLineCapStyle("round")
	for i := 5; i >= 1; i-- {
		dx, dy := depthX*float64(i)/5, depthY*float64(i)/5
		var ridge []fpdf.PointType
		for _, q := range front {
			ridge = append(ridge, fpdf.PointType{X: ox + q.X - dx, Y: oy + q.Y - dy})
		}
		last, first := front[len(front)-1], front[0]
		ridge = append(ridge, at(last), at(first))
		p.f.SetLineWidth(0.15)
		if i == 5 {
			p.f.SetLineWidth(inkBar)
		}
		p.f.Polygon(ridge, "FD")
	}
	p.f.SetLineWidth(inkBar)
	foot := faceH - 1.2
	p.f.Polygon([]fpdf.PointType{at(front[0]), at(draw.Point{X: -depthX, Y: front[0].Y - depthY}),
		at(draw.Point{X: -depthX, Y: foot - depthY}), at(draw.Point{X: 0, Y: foot})}, "FD")
	p.f.SetLineWidth(0.12)
	for d := 1.4; d < foot-front[0].Y-1; d += 1.4 {
		p.f.Line(ox-depthX, oy+front[0].Y-depthY+d, ox-depthX*0.45, oy+front[0].Y-depthY*0.45+d)
	}
	// For each stratum: white, then the pattern inside a clip, then the line that
	// separates it.
	for _, band := range bands {
		pts := outline(band, at)
		p.f.Polygon(pts, "F")
		p.f.ClipPolygon(pts, false)
		p.pattern(band.Stratum.Look(), box(pts))
		p.f.ClipEnd()
	}
	p.f.SetFillColor(255, 255, 255)
	for _, band := range bands {
		p.f.SetLineWidth(0.18)
		p.f.Polygon(outline(band, at), "D")
	}
	p.f.SetLineWidth(0.5)
	chain(p.f, face.Edge, at)
	p.f.SetLineWidth(0.55)
	whole := draw.Band{Lower: bands[0].Lower, Upper: bands[len(bands)-1].Upper}
	p.f.Polygon(outline(whole, at), "D")
	p.f.SetLineJoinStyle("miter")
	p.f.SetLineCapStyle("butt")
	for _, band := range bands {
		m := len(band.Lower) / 2
		lo, hi := band.Lower[m], band.Upper[m]
		if lo.Y-hi.Y >= lettersH {
			p.letters(barX+depthX+lo.X, oy+(lo.Y+hi.Y)/2, band.Stratum.Look().Letters)
		}
	}
	// The table is crest first, like the picture.
	ty := y + barTop
	for _, s := range b.Present() {
		l := s.Look()
		x := p.x0 + tableX
		p.f.SetFillColor(255, 255, 255)
		p.f.Rect(x, ty, swatchW, swatchH, "F")
		p.f.ClipRect(x, ty, swatchW, swatchH, false)
		p.pattern(l, [4]float64{x, ty, x + swatchW, ty + swatchH})
		p.f.ClipEnd()
		p.box(tableX, ty, swatchW, swatchH, 0.2)
		p.letters(tableX+swatchW/2, ty+swatchH/2, l.Letters)
		name := l.Name
		if s == draw.UnknownSoap {
			name = "unknown" // the picture's word is too long for the column
		}
		p.text(tableX+swatchW+1.6, ty+swatchH-1, sans, 8, name)
		p.right(textW, ty+swatchH-0.9, serif, 9, share(b.Shares[s]))
		ty += barRow
	}
	p.f.SetFillColor(0, 0, 0)
	return nil
}

// share writes a share as a per cent. It never writes 0 for something that is
// there.
func share(v float64) string {
	switch pc := 100 * v; {
	case pc < 0.005:
		return "< 0.01"
	case pc < 0.095:
		return quantity.Number(pc, 2)
	default:
		return quantity.Number(pc, 1)
	}
}

// letters writes the two letters of a stratum in the middle of (x, y) on a white
// field, which keeps the pattern from running through them.
func (p *page) letters(x, y float64, two string) {
	const size = 7.5
	w := p.widthAt(sansB, size, two)
	p.f.SetFillColor(255, 255, 255)
	p.f.Rect(p.x0+x-w/2-0.5, y-1.3, w+1, 2.6, "F")
	p.text(x-w/2, y+0.95, sansB, size, two)
	p.f.SetFillColor(0, 0, 0)
}

// flat turns a curve into short straight pieces, which are within 0.01 mm of it
// at this size.
func flat(c draw.Curve) []draw.Point {
	const n = 6
	out := []draw.Point{c[0]}
	for i := 0; i+3 < len(c); i += 3 {
		for k := 1; k <= n; k++ {
			u := float64(k) / n
			v := 1 - u
			a, b, d, e := v*v*v, 3*v*v*u, 3*v*u*u, u*u*u
			out = append(out, draw.Point{X: a*c[i].X + b*c[i+1].X + d*c[i+2].X + e*c[i+3].X,
				Y: a*c[i].Y + b*c[i+1].Y + d*c[i+2].Y + e*c[i+3].Y})
		}
	}
	return out
}

// outline is the outline of what lies between a band's two curves.
func outline(b draw.Band, at func(draw.Point) fpdf.PointType) []fpdf.PointType {
	var out []fpdf.PointType
	for _, q := range flat(b.Lower) {
		out = append(out, at(q))
	}
	for _, q := range slices.Backward(flat(b.Upper)) {
		out = append(out, at(q))
	}
	return out
}

func chain(f *fpdf.Fpdf, c draw.Curve, at func(draw.Point) fpdf.PointType) {
	for i, q := range flat(c) {
		t := at(q)
		if i == 0 {
			f.MoveTo(t.X, t.Y)
		} else {
			f.LineTo(t.X, t.Y)
		}
	}
	f.DrawPath("D")
}

// box is the smallest rectangle around points: left, top, right, bottom.
func box(pts []fpdf.PointType) [4]float64 {
	b := [4]float64{pts[0].X, pts[0].Y, pts[0].X, pts[0].Y}
	for _, q := range pts {
		b = [4]float64{min(b[0], q.X), min(b[1], q.Y), max(b[2], q.X), max(b[3], q.Y)}
	}
	return b
}

// pattern fills a rectangle with a stratum's marks, tile by tile, inside the clip
// that is set. Tiles start at whole multiples of their size, so a pattern
// continues from one rectangle to the next.
func (p *page) pattern(l draw.Look, in [4]float64) {
	w, h, weight, strokes, dots := l.Marks()
	if strokes == "" && dots == "" {
		return
	}
	p.f.SetLineWidth(weight * pxMM)
	p.f.SetFillColor(0, 0, 0)
	w, h = w*pxMM, h*pxMM
	for ty := int(in[1]/h) - 1; float64(ty)*h < in[3]; ty++ {
		for tx := int(in[0]/w) - 1; float64(tx)*w < in[2]; tx++ {
			x, y := float64(tx)*w, float64(ty)*h
			p.path(strokes, x, y, "D")
			p.path(dots, x, y, "F")
		}
	}
	p.f.SetFillColor(255, 255, 255)
}

// kappa is the length of the handles of the cubic that is nearest to a quarter
// circle.
const kappa = 0.5522847498

// pathNumbers is how many numbers each command of a path takes.
var pathNumbers = map[byte]int{'M': 2, 'L': 2, 'H': 1, 'V': 1, 'C': 6, 'a': 7}

// path draws the path data of a pattern. It knows M, L, H, V, C, Z, and a for the
// two halves of a circle; patterns use nothing else.
func (p *page) path(d string, ox, oy float64, style string) {
	if d == "" {
		return
	}
	var op byte
	var v []float64
	var cx, cy, sx, sy float64
	X := func(x float64) float64 { return ox + x*pxMM }
	Y := func(y float64) float64 { return oy + y*pxMM }
	for i := 0; i < len(d); {
		c := d[i]
		switch {
		case c == ' ' || c == ',':
			i++
		case c == 'Z':
			p.f.ClosePath()
			cx, cy = sx, sy
			i++
		case c >= 'A' && c <= 'z':
			op, v = c, nil
			i++
		default:
			j := i + 1
			dot := c == '.'
			for j < len(d) && (d[j] >= '0' && d[j] <= '9' || d[j] == '.' && !dot) {
				dot = dot || d[j] == '.'
				j++
			}
			n, err := strconv.ParseFloat(d[i:j], 64)
			if err != nil {
				p.f.SetErrorf("a pattern cannot be read at %q", d[i:])
				return
			}
			v = append(v, n)
			i = j
			if len(v) < pathNumbers[op] {
				continue
			}
			switch op {
			case 'M':
				cx, cy = v[0], v[1]
				sx, sy = cx, cy
				p.f.MoveTo(X(cx), Y(cy))
				op = 'L'
			case 'L', 'H', 'V':
				if op != 'V' {
					cx = v[0]
				}
				if op != 'H' {
					cy = v[len(v)-1]
				}
				p.f.LineTo(X(cx), Y(cy))
			case 'C':
				cx, cy = v[4], v[5]
				p.f.CurveBezierCubicTo(X(v[0]), Y(v[1]), X(v[2]), Y(v[3]), X(cx), Y(cy))
			case 'a':
				// Half a circle from (cx, cy) to (cx + dx, cy). On which side it is
				// drawn does not matter, because both halves are always there.
				r, dx := v[0], v[5]
				mx, side := cx+dx/2, r
				if dx < 0 {
					side = -r
				}
				k := side * kappa
				p.f.CurveBezierCubicTo(X(cx), Y(cy+k), X(mx-k), Y(cy+side), X(mx), Y(cy+side))
				p.f.CurveBezierCubicTo(X(mx+k), Y(cy+side), X(cx+dx), Y(cy+k), X(cx+dx), Y(cy))
				cx += dx
			}
			v = nil
		}
	}
	p.f.DrawPath(style)
}
