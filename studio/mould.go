package studio

import (
	"barwright/catalogue"
	"barwright/fault"
	"barwright/mould"
)

// moulds is the nature of moulds. A run that was made keeps the mould as it was
// in its working.
type moulds struct{ plain[mould.Mould] }

func (moulds) kind() Kind                { return KindMould }
func (moulds) name(m mould.Mould) string { return m.Name }

func (moulds) under(m mould.Mould, id, name string) mould.Mould {
	m.ID, m.Name = id, name
	return m
}

func (moulds) check(m mould.Mould, _ *catalogue.Catalogue) fault.List { return m.Validate() }
