# Reads data.csv beside it and prints survival by site and lineage, as the page of Mastbook has it. Needs base R only.
#   Rscript survival.R [level] [age]      for instance: Rscript survival.R source 5
args <- commandArgs(trailingOnly = TRUE)
level <- if (length(args) >= 1) args[1] else "source"
unknown <- c("not stated", "outside origin")

d <- read.csv("data.csv", fileEncoding = "UTF-8-BOM", colClasses = "character", check.names = FALSE, na.strings = NULL)
d <- d[d$counted == "yes" & d$complete == "yes", ]
if (nrow(d) == 0) stop("No complete census is in this file.")
for (name in c("growing_seasons", "planted", "assessed", "alive")) d[[name]] <- as.integer(d[[name]])

# the oldest age that at least half of the plantings have reached
oldest <- tapply(d$growing_seasons, d$planting, max)
ages <- unique(d$growing_seasons)
reached <- ages[sapply(ages, function(age) 2 * sum(oldest >= age) >= length(oldest))]
age <- if (length(args) >= 2) as.integer(args[2]) else max(reached)

# each planting, planted and sown apart, at its last round of this age
d <- d[d$growing_seasons == age, ]
unit <- paste(d$planting, d$population, sep = "\r")
last <- tapply(d$round_opens_on, unit, max)
d <- d[d$round_opens_on == last[unit], ]

# a check without a lineage at this level goes by its generation, else by its lot
d$lineage <- d[[level]]
check <- d$role != "test"
swap <- check & d$lineage %in% unknown
d$lineage[swap] <- d$generation[swap]
swap <- check & d$lineage %in% unknown
d$lineage[swap] <- d$lot[swap]
d$role <- ifelse(check, paste(d$check_kind, "check"), "test")

out <- aggregate(d[c("planted", "assessed", "alive")], d[c("site", "lineage", "role", "population")], sum)
z <- qnorm(0.975)
n <- ifelse(out$assessed > 0, out$assessed, NA)
p <- out$alive / n
half <- z * sqrt(p * (1 - p) / n + z^2 / (4 * n^2))
out$survival <- round(p, 4)
out$low <- round((p + z^2 / (2 * n) - half) / (1 + z^2 / n), 4)  # Wilson 1927
out$high <- round((p + z^2 / (2 * n) + half) / (1 + z^2 / n), 4)
write.csv(out[order(out$site, out$lineage, out$role, out$population), ], stdout(), row.names = FALSE, na = "")
