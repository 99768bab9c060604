package main

type serveCmd struct{}

func (cmd serveCmd) Run(c *call) error { return nil }

type demoCmd struct{}

func (cmd demoCmd) Run(c *call) error { return nil }
