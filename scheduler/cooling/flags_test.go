package cooling_test

import "flag"

var showMisses = flag.Bool("misses", false, "log every made-up case that is judged otherwise than it was made")
