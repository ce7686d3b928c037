package cli

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func (a *App) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which Barwright this is",
		Args:  noArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(a.Stdout, "barwright %s (%s, %s/%s)\n", a.Version, runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		},
	}
}

// nearestFlag gives the flag of cmd that begins most as the mistyped one does,
// by two letters at least, or "".
func nearestFlag(cmd *cobra.Command, typed string) string {
	word := ""
	for _, r := range typed {
		if r == ' ' || r == '=' {
			break
		}
		if r != '-' {
			word += string(r)
		}
	}
	if len(word) < 2 {
		return ""
	}
	best, most := "", 1
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		name := ""
		for _, r := range f.Name {
			if r != '-' {
				name += string(r)
			}
		}
		n := 0
		for n < len(name) && n < len(word) && name[n] == word[n] {
			n++
		}
		if n > most {
			best, most = f.Name, n
		}
	})
	return best
}
