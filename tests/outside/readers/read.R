# Every variable of a file as ncdf4 reads it, for tests/outside/readers_test.py: path, units, long name
# and, where they are few, values; parted by the characters 0x1f and 0x1e, each variable ended by 0x1d.
suppressPackageStartupMessages(library(ncdf4))
arguments <- commandArgs(trailingOnly = TRUE)
most <- as.integer(arguments[2])
file <- nc_open(arguments[1])
attribute <- function(path, name) {
  found <- ncatt_get(file, path, name)
  if (found$hasatt) found$value else "\x02"
}
for (path in unique(c(names(file$var), names(file$dim)))) {
  values <- ncvar_get(file, path)
  if (length(values) > most) {
    values <- "\x02"
  } else if (is.numeric(values)) {
    values <- sprintf("%.17g", values)
  }
  cat(path, attribute(path, "units"), attribute(path, "long_name"),
      paste(values, collapse = "\x1e"), sep = "\x1f")
  cat("\x1d")
}
