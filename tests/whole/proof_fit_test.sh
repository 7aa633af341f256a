#!/bin/bash
# proof_fit_test.sh PROGRAM: fits of the store notebook against R's package survival (Debian r-cran-survival) to 4 figures: its data
# set aml (Kaplan-Meier with Greenwood's errors, Weibull, lognormal with right censoring), made-up intervals (survreg, and
# Turnbull's curve by survfit), and gamma weights (MASS, Debian r-cran-mass). Passed over where R is not there.
set -u
program=$(readlink -f "$1")
if ! Rscript -e 'library(survival); library(MASS)' >/dev/null 2>&1; then
    echo "passed over: R with survival and MASS is not here (apt-get install r-base-core r-cran-survival r-cran-mass)"
    exit 0
fi
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cat >"$folder/proof.R" <<'R'
suppressMessages({ library(survival); library(MASS) })
args <- commandArgs(TRUE); program <- args[1]; folder <- args[2]
passed <- 0; failed <- 0
near <- function(what, value, expected, relative = 5e-5) {
  good <- !is.na(value) & abs(value - expected) <= relative * abs(expected) + 1e-9
  passed <<- passed + sum(good); failed <<- failed + sum(!good)
  if (any(!good)) cat("FAILED:", what, value[!good], "expected", expected[!good], "\n")
}
fit <- function(rows, header) {
  writeLines(c(header, rows), file.path(folder, "notebook.csv"))
  if (system2(program, c("fit", file.path(folder, "notebook.csv"), "--quiet", "--out", folder)) != 0) stop("fit failed")
  read.csv(file.path(folder, "fit.csv"))
}
cut <- as.Date("2020-10-01"); header <- "kind,crop,date,sound,spoiled,place"
day <- function(weeks) ifelse(is.finite(weeks), format(cut + 7 * weeks), "")

# ---- aml: right censoring -------------------------------------------------------------------------------------
told <- fit(sprintf("kept,gourd,%s,%s,%s,%s", cut, day(aml$time), ifelse(aml$status == 1, day(aml$time), ""), aml$x), header)
keeping <- read.csv(file.path(folder, "keeping.csv"))
for (group in levels(aml$x)) {
  own <- aml[aml$x == group, ]
  curve <- summary(survfit(Surv(time, status) ~ 1, own))
  mine <- keeping[keeping$place == group & keeping$weeks > 0, ]
  near("Kaplan-Meier", mine$sound, curve$surv)
  near("at risk", mine$at_risk, curve$n.risk)
  near("Greenwood", ifelse(mine$sound == 0, 0, mine$std_error), ifelse(curve$surv == 0, 0, curve$std.err))
  for (shape in c("weibull", "lognormal")) {
    reg <- survreg(Surv(time, status) ~ 1, own, dist = shape)
    row <- told[told$place == group & told$shape == shape, ]
    p <- if (shape == "weibull") c(1 / reg$scale, exp(coef(reg))) else c(coef(reg), reg$scale)
    near(paste(group, shape), c(row$estimate_1, row$estimate_2), unname(p))
    near(paste(group, shape, "likelihood"), row$log_likelihood, reg$loglik[1])
    at <- sqrt(diag(vcov(reg)))
    se <- if (shape == "weibull") c(at[2] / reg$scale, at[1] * exp(coef(reg))) else c(at[1], at[2] * reg$scale)
    near(paste(group, shape, "errors"), c(row$std_error_1, row$std_error_2), unname(se), 2e-3)
  }
}

# ---- intervals -----------------------------------------------------------------------------------------------------
set.seed(4)
life <- rweibull(80, 2.4, 23); eaten <- 1 + floor(rexp(80, 1 / 25))
sound <- ifelse(eaten < life, eaten, floor(life)); spoiled <- ifelse(eaten < life, Inf, floor(life) + 1)
told <- fit(sprintf("kept,gourd,%s,%s,%s,", cut, day(sound), day(spoiled)), header)
seen <- Surv(ifelse(sound == 0, NA, sound), ifelse(is.finite(spoiled), spoiled, NA), type = "interval2")
for (shape in c("weibull", "lognormal")) {
  reg <- survreg(seen ~ 1, dist = shape)
  row <- told[told$shape == shape, ]
  p <- if (shape == "weibull") c(1 / reg$scale, exp(coef(reg))) else c(coef(reg), reg$scale)
  near(paste("intervals", shape), c(row$estimate_1, row$estimate_2), unname(p))
  near(paste("intervals", shape, "likelihood"), row$log_likelihood, reg$loglik[1])
}
curve <- survfit(seen ~ 1)
keeping <- read.csv(file.path(folder, "keeping.csv"))
mine <- keeping[keeping$weeks > 0, ]
# survfit puts an interval's mass in its middle: just after each of ours both have fallen alike
theirs <- sapply(mine$weeks, function(w) min(1, curve$surv[curve$time < w + 1e-9]))
near("Turnbull", mine$sound, theirs, 1e-3)

# ---- weights ---------------------------------------------------------------------------------------------------------
kg <- round(rgamma(50, 8, 6), 3)
told <- fit(sprintf("fruit_kg,gourd,%.3f", kg), "kind,crop,value")
g <- suppressWarnings(fitdistr(kg, "gamma"))$estimate
row <- told[told$shape == "gamma", ]
near("gamma", c(row$estimate_1, row$estimate_2), c(g[["shape"]] / g[["rate"]], sqrt(g[["shape"]]) / g[["rate"]]), 1e-3)
l <- fitdistr(kg, "lognormal")
row <- told[told$shape == "lognormal", ]
near("lognormal", c(row$estimate_1, row$estimate_2), unname(l$estimate))
near("lognormal errors", c(row$std_error_1, row$std_error_2), unname(l$sd), 1e-3)
cat(passed, "passed,", failed, "failed\n")
quit(status = failed != 0)
R
Rscript "$folder/proof.R" "$program" "$folder"
