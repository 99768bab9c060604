package main

import (
	"fmt"
	"os"
	"path/filepath"

	"example.org/roundsman/cmd/roundsman/demo"
	"example.org/roundsman/models/private"
)

// demoSettingsFile names the settings of the invented shop in the demo's
// folder, so that further commands speak in its name and by its clock.
const demoSettingsFile = "roundsman.toml"

// writeDemoSettings writes the invented shop's settings for the commands that
// are tried after the demo. Paths in it start at its folder.
func writeDemoSettings(dir string) error {
	text := fmt.Sprintf(`# The invented shop of the demo. config/example.toml shows every key.
[shop]
name = %q
phone = %q
mail_from = %q
time_zone = %q

[database]
path = %q

[mail]
spool = "spool"

[sms]
spool = "spool"
`, demo.ShopName, demo.ShopPhone, demo.ShopMail, demo.TimeZone, demoFile)
	if err := os.WriteFile(filepath.Join(dir, demoSettingsFile), []byte(text), private.FileMode); err != nil {
		return fmt.Errorf("writing the demo's settings: %w", err)
	}
	return nil
}
