package cli

import (
	"barwright/catalogue"
	"barwright/finding"
	"barwright/quantity"
	"barwright/soap"
)

// The object that weigh --json prints. Its keys are stable and in this order;
// units are in the names; masses are not rounded; probabilities run from 0 to 1.
// What is not known is null.
type (
	weighed struct {
		Name     string            `json:"name"`
		Method   string            `json:"method"`
		Fats     []weighedFat      `json:"fats"`
		Alkali   weighedAlkali     `json:"alkali"`
		WaterG   float64           `json:"water_g"` // to weigh, after the water that extras bring
		Extras   []weighedExtra    `json:"extras"`
		Superfat weighedSuperfat   `json:"superfat"`
		Lye      weighedLye        `json:"lye_solution"`
		Batter   weighedBatter     `json:"batter"`
		Bar      weighedBar        `json:"bar"`
		Scents   []weighedScent    `json:"scents"`
		Findings []finding.Finding `json:"findings"`
	}
	weighedFat struct {
		ID    string  `json:"id"`
		MassG float64 `json:"mass_g"`
		SAP   float64 `json:"sap_mg_koh_g"`
	}
	weighedAlkali struct {
		NaOHG float64 `json:"naoh_g"`
		KOHG  float64 `json:"koh_g"`
		Mol   float64 `json:"mol"`
	}
	weighedExtra struct {
		ID    string  `json:"id"`
		MassG float64 `json:"mass_g"`
	}
	weighedSuperfat struct {
		NominalPct    float64 `json:"nominal_pct"` // asked for
		LowPct        float64 `json:"p2_5_pct"`
		HighPct       float64 `json:"p97_5_pct"`
		Excess        float64 `json:"excess_alkali_probability"`
		For1In1000Pct float64 `json:"superfat_for_1_in_1000_pct"`
		SDPct         float64 `json:"std_first_order_pct"`
		Draws         int     `json:"draws"`
	}
	weighedLye struct {
		MassG            float64        `json:"mass_g"`
		ConcentrationPct float64        `json:"concentration_pct"`
		PeakC            quantity.Maybe `json:"peak_c"`
	}
	weighedBatter struct {
		MassG      float64 `json:"mass_g"`
		VolumeML   float64 `json:"volume_ml"`
		DensityGML float64 `json:"density_g_ml"`
	}
	weighedBar struct {
		MassG         float64          `json:"cured_mass_g"`
		TFMPct        float64          `json:"tfm_pct"`
		GlycerolPct   float64          `json:"glycerol_pct"`
		Iodine        quantity.Maybe   `json:"iodine_value"`
		Oxidizability quantity.Maybe   `json:"oxidizability"`
		Groups        weighedGroups    `json:"groups"`
		Composition   []weighedSpecies `json:"composition"`
	}
	// weighedGroups are % of the total fatty acids, and sum to 100; null without
	// any profile.
	weighedGroups struct {
		Quick    quantity.Maybe `json:"quick_pct"`
		Slow     quantity.Maybe `json:"slow_pct"`
		Mellow   quantity.Maybe `json:"mellow_pct"`
		Fleeting quantity.Maybe `json:"fleeting_pct"`
		Holder   quantity.Maybe `json:"holder_pct"`
	}
	weighedSpecies struct {
		Name  string  `json:"name"`
		INCI  string  `json:"inci"`
		MassG float64 `json:"mass_g"`
		Pct   float64 `json:"pct"`
	}
	weighedScent struct {
		Name     string         `json:"name"`
		MassG    float64        `json:"mass_g"`
		PctOfBar float64        `json:"pct_of_cured_bar"`
		LimitPct quantity.Maybe `json:"limit_pct"`
		Within   *bool          `json:"within_limit"` // null without a limit: nothing was checked
	}
)

// weighedObject is a formula worked out, for JSON.
func weighedObject(r *soap.Result, sf soap.Superfat, found []finding.Finding) weighed {
	known := func(v float64) quantity.Maybe {
		if !r.Bar.HasProfile {
			return quantity.Maybe{}
		}
		return quantity.Some(v)
	}
	group := func(g catalogue.Group) quantity.Maybe { return known(r.Bar.GroupsPct[g]) }
	return weighed{
		Name: r.Formula.Name, Method: r.Formula.Method.String(),
		Fats:   objects(r.Fats, func(m soap.FatMass) weighedFat { return weighedFat{m.ID, m.MassG, m.SAP} }),
		Alkali: weighedAlkali{r.NaOHG, r.KOHG, r.Mol},
		WaterG: r.WaterG,
		Extras: objects(r.Extras, func(m soap.ExtraMass) weighedExtra { return weighedExtra{m.ID, m.MassG} }),
		Superfat: weighedSuperfat{NominalPct: sf.NominalPct, LowPct: sf.LowPct, HighPct: sf.HighPct, Excess: sf.Excess,
			For1In1000Pct: sf.For1In1000Pct, SDPct: sf.SDPct, Draws: sf.Draws},
		Lye:    weighedLye{r.Lye.MassG, r.Lye.ConcentrationPct, r.Lye.PeakC},
		Batter: weighedBatter{r.Batter.MassG, r.Batter.VolumeML, r.Batter.DensityGML},
		Bar: weighedBar{MassG: r.Bar.MassG, TFMPct: r.Bar.TFMPct, GlycerolPct: r.Bar.GlycerolPct,
			Iodine: known(r.Bar.IodineValue), Oxidizability: known(r.Bar.Oxidizable),
			Groups: weighedGroups{group(catalogue.Quick), group(catalogue.Slow), group(catalogue.Mellow),
				group(catalogue.Fleeting), group(catalogue.Holder)},
			Composition: objects(r.Composition(), func(s soap.Species) weighedSpecies { return weighedSpecies{s.Name, s.INCI, s.MassG, s.Pct} })},
		Scents: objects(r.Scents, func(m soap.ScentMass) weighedScent {
			o := weighedScent{Name: m.Name, MassG: m.MassG, PctOfBar: m.PctOfBar, LimitPct: m.LimitPct}
			if m.LimitPct.Known {
				within := m.Within()
				o.Within = &within
			}
			return o
		}),
		Findings: append([]finding.Finding{}, found...),
	}
}
