package cli

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"
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
