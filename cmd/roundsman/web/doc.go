// Package web is the pages: what the service desk, the technician and the
// fleet manager see in a browser, and what an owner sees through a link.
//
// routes.go lists every address with who may use it; each handler has a file
// of its own. A handler is given a request that holds the viewer, and reads
// machines through the viewer's scope alone (scope.go), which is the one place
// that keeps one owner's machines from another. Pages are html/template files
// with typed data, tried out at start and rendered into a buffer before the
// first byte goes out. Nothing is fetched from elsewhere, everything works
// without a script, and GET changes nothing.
package web
