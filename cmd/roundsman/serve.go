package main

import (
	"example.org/roundsman/cmd/roundsman/app"
)

type serveCmd struct{}

func (serveCmd) Help() string {
	return `Holds rounds at the local times of the settings (rounds.at) and sends what is due, until it is told to stop (SIGINT, SIGTERM). A round missed while the computer slept or was off is made up once. Logs go to standard error.

Example:
  roundsman --config roundsman.toml serve`
}

func (serveCmd) Run(c *call) error {
	return c.begin(func(a *app.App) error { return a.Serve(c.ctx) })
}
