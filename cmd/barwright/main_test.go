package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestMain lets the test program be barwright itself.
func TestMain(m *testing.M) {
	if os.Getenv("BARWRIGHT_TEST_RUN") != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

// program is barwright as another process, with a home of its own.
func program(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	t.Cleanup(cancel)
	c := exec.CommandContext(ctx, os.Args[0], args...)
	home := t.TempDir()
	c.Env = append(os.Environ(), "BARWRIGHT_TEST_RUN=1", "HOME="+home, "XDG_DATA_HOME="+filepath.Join(home, "data"), "TMPDIR="+t.TempDir())
	return c
}

// serving starts it and gives the address that it prints.
func serving(t *testing.T, args ...string) (url string, c *exec.Cmd) {
	t.Helper()
	c = program(t, args...)
	var errs strings.Builder
	c.Stderr = &errs
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		_ = c.Wait()
		t.Fatalf("no address: %v\n%s", err, errs.String())
	}
	url = strings.TrimSuffix(line, "\n")
	if !strings.HasPrefix(url, "http://127.0.0.1:") {
		t.Fatalf("the address is %q", line)
	}
	return url, c
}

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	r, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return r.StatusCode, string(b)
}

func TestAStudioIsServedUntilItIsStopped(t *testing.T) {
	data := t.TempDir()
	start := time.Now()
	url, c := serving(t, "serve", "--data", data, "--addr", "127.0.0.1:0")
	if status, body := get(t, url+"/"); status != http.StatusOK || !strings.Contains(body, "Barwright") {
		t.Errorf("status %d\n%.500s", status, body)
	}
	t.Logf("first answer after %v, the studio's first start included", time.Since(start))
	if err := c.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := c.Wait(); err != nil {
		t.Errorf("stopped with %v", err)
	}
	if files, err := filepath.Glob(filepath.Join(data, "*.db")); err != nil || len(files) != 1 {
		t.Errorf("the studio's file: %v, %v", files, err)
	}
	if files, _ := filepath.Glob(filepath.Join(data, "*-wal")); len(files) != 0 {
		t.Errorf("left open: %v", files)
	}
}

func TestTwoStudiosTakeTwoPorts(t *testing.T) {
	one, _ := serving(t, "serve", "--data", t.TempDir(), "--addr", "0")
	two, _ := serving(t, "serve", "--data", t.TempDir(), "--addr", strings.TrimPrefix(one, "http://"))
	if one == two {
		t.Fatalf("both are at %s", one)
	}
	for _, url := range []string{one, two} {
		if status, _ := get(t, url+"/"); status != http.StatusOK {
			t.Errorf("%s: status %d", url, status)
		}
	}
}

func TestTheDemoLeavesNothingBehind(t *testing.T) {
	url, c := serving(t, "demo", "--addr", "0")
	status, body := get(t, url+"/")
	if status != http.StatusOK || !strings.Contains(body, "Quillfen") {
		t.Errorf("status %d\n%.500s", status, body)
	}
	if err := c.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := c.Wait(); err != nil {
		t.Errorf("stopped with %v", err)
	}
	for _, dir := range []string{"HOME=", "TMPDIR="} {
		for _, e := range c.Env {
			if path, ok := strings.CutPrefix(e, dir); ok && strings.HasPrefix(path, os.TempDir()) {
				left, err := os.ReadDir(path)
				if err != nil || len(left) > 0 {
					t.Errorf("%s%s holds %v, %v", dir, path, left, err)
				}
			}
		}
	}
}

func TestAStudioThatCannotBeServedIsRefused(t *testing.T) {
	notADirectory := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(notADirectory, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"serve", "--data", t.TempDir(), "--addr", "192.0.2.1:80"},
		{"serve", "--data", t.TempDir(), "--addr", "nonsense"},
		{"serve", "--data", notADirectory},
		{"serve", "--db", "postgres://nobody@127.0.0.1:1/none?connect_timeout=2"},
		{"serve", "--db", "mysql://nobody@127.0.0.1/none"},
	} {
		c := program(t, args...)
		var out, errs strings.Builder
		c.Stdout, c.Stderr = &out, &errs
		err := c.Run()
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != 2 {
			t.Errorf("%q: %v", args, err)
		}
		if out.Len() > 0 || strings.Count(errs.String(), "\n") != 1 {
			t.Errorf("%q: %q on standard output, and %q", args, out.String(), errs.String())
		}
	}
}
