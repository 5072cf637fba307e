# Remakes the frozen answers that the tests of trials are held to (make reference-r).
# Needs R with lme4, lmerTest, pbkrtest, emmeans, multcomp, ordinal; reads ../../data/trials.
suppressMessages({
  library(lme4); library(lmerTest); library(pbkrtest); library(emmeans); library(multcomp)
  library(ordinal)
})
options(contrasts = c("contr.sum", "contr.poly"), digits = 15)
from <- function(name) file.path("..", "..", "data", "trials", name)
rows <- list()
put <- function(set, what, term, df = NA, df_error = NA, ss = NA, f = NA, p = NA,
                value = NA, se = NA)
  rows[[length(rows) + 1]] <<- data.frame(set, what, term = trimws(term), df, df_error, ss, f, p,
                                          value, se)
strata <- function(set, model) {
  for (stratum in summary(model)) {
    tab <- stratum[[1]]
    n <- nrow(tab)
    has <- "F value" %in% names(tab)
    for (i in seq_len(n)) {
      put(set, "strata", rownames(tab)[i], tab$Df[i], tab$Df[n], tab$`Sum Sq`[i],
          if (has) tab$`F value`[i] else NA, if (has) tab$`Pr(>F)`[i] else NA)
    }
  }
}
single <- function(set, model) {
  tab <- anova(model)
  n <- nrow(tab)
  for (i in seq_len(n)) put(set, "anova", rownames(tab)[i], tab$Df[i], tab$Df[n],
                            tab$`Sum Sq`[i], tab$`F value`[i], tab$`Pr(>F)`[i])
}
mixed <- function(set, model) {
  for (way in c("Kenward-Roger", "Satterthwaite")) {
    tab <- anova(model, type = 3, ddf = way)
    for (i in seq_len(nrow(tab)))
      put(set, way, rownames(tab)[i], tab$NumDF[i], tab$DenDF[i], tab$`Sum Sq`[i],
          tab$`F value`[i], tab$`Pr(>F)`[i])
  }
  vc <- as.data.frame(VarCorr(model))
  for (i in seq_len(nrow(vc))) put(set, "variance", vc$grp[i], value = vc$vcov[i])
  put(set, "reml", "criterion", value = REMLcrit(model))
}
means <- function(set, object, term) {
  tab <- as.data.frame(summary(object))
  for (i in seq_len(nrow(tab))) put(set, "mean", paste(term, tab[i, 1]), df_error = tab$df[i],
                                    value = tab$emmean[i], se = tab$SE[i])
}
pairs_of <- function(set, object, adjust) {
  tab <- as.data.frame(summary(contrast(object, if (adjust == "dunnettx" || adjust == "mvt")
    "trt.vs.ctrl" else "pairwise"), adjust = adjust))
  for (i in seq_len(nrow(tab))) put(set, adjust, as.character(tab$contrast[i]),
                                    df_error = tab$df[i], f = tab$t.ratio[i],
                                    p = tab$p.value[i], value = tab$estimate[i], se = tab$SE[i])
}
table_of <- function(name, factors = character()) {
  held <- read.csv(from(name), na.strings = "", check.names = FALSE)
  for (one in factors) held[[one]] <- factor(held[[one]], levels = unique(held[[one]]))
  held
}

npk <- table_of("npk.csv", c("block", "N", "P", "K"))
single("npk", aov(yield ~ block + N * P * K, npk))
strata("npk", aov(yield ~ N * P * K + Error(block), npk))

oats <- table_of("oats.csv", c("B", "V"))
oats$N <- factor(oats$N)
strata("oats", aov(Y ~ V * N + Error(B / V), oats))
full <- lmer(Y ~ V * N + (1 | B / V), oats)
mixed("oats", full)
means("oats", emmeans(full, "V"), "V")
means("oats", emmeans(full, "N"), "N")
pairs_of("oats N", emmeans(full, "N"), "tukey")
pairs_of("oats VN", emmeans(full, ~ V | N)[c(1, 2)], "none")
gone <- oats[-c(2, 17, 30, 31, 66), ]
short <- lmer(Y ~ V * N + (1 | B / V), gone)
mixed("oats short", short)
means("oats short", emmeans(short, "V"), "V")
means("oats short", emmeans(short, "N"), "N")
pairs_of("oats short N", emmeans(short, "N"), "tukey")

alfalfa <- table_of("alfalfa.csv", c("Variety", "Date", "Block"))
strata("alfalfa", aov(Yield ~ Variety * Date + Error(Block / Variety), alfalfa))
kiwi <- table_of("kiwishade.csv", c("block", "shade", "plot"))
strata("kiwishade", aov(yield ~ shade + Error(block / shade), kiwi))
lost <- kiwi[-c(3, 4, 20, 41), ]
mixed("kiwishade short", lmer(yield ~ shade + (1 | block / shade), lost))
immer <- table_of("immer.csv", c("Loc", "Var"))
immer$Y <- (immer$Y1 + immer$Y2) / 2
single("immer", aov(Y ~ Loc + Var, immer))
cabbages <- table_of("cabbages.csv", c("Cult", "Date"))
single("cabbages", aov(HeadWt ~ Cult * Date, cabbages))
wheat <- table_of("wheat2.csv", c("Block", "variety"))
single("wheat2", aov(yield ~ Block + variety, wheat))
sprays <- table_of("orchard_sprays.csv", c("rowpos", "colpos", "treatment"))
single("orchard_sprays", aov(decrease ~ rowpos + colpos + treatment, sprays))
insects <- table_of("insect_sprays.csv", "spray")
single("insect_sprays", aov(count ~ spray, insects))
poisson <- glm(count ~ spray, quasipoisson, insects)
test <- anova(poisson, test = "F")
put("insect_sprays", "quasipoisson", "spray", 5, 66, test$Deviance[2], test$F[2], test$`Pr(>F)`[2],
    summary(poisson)$dispersion)
growth <- table_of("plant_growth.csv", "group")
plain <- lm(weight ~ group, growth)
single("plant_growth", aov(plain))
pairs_of("plant_growth", emmeans(plain, "group"), "tukey")
set.seed(1)
pairs_of("plant_growth", emmeans(plain, "group"), "mvt")
sleep <- table_of("sleepstudy.csv", "Subject")
mixed("sleepstudy", lmer(Reaction ~ Days + (1 | Subject), sleep))

latin <- table_of("fungicide_latin_square.csv", c("trt", "row", "col"))
single("fungicide", aov(yield ~ row + col + trt, latin))
wss <- table_of("wheat_splitsplit.csv", c("inoc", "gen", "dry", "dust", "block", "trt"))
strata("wheat_splitsplit", aov(yield ~ gen * dust * dry * inoc + Error(block / gen), wss))
strawberry <- table_of("strawberry_yield.csv", c("block", "gen"))
single("strawberry", aov(yield ~ block + gen, strawberry))
turnip <- table_of("turnip_density.csv", c("block", "spacing", "density"))
single("turnip", aov(yield ~ block + spacing * density, turnip))
cowpea <- table_of("cowpea_maize_yield.csv", c("block", "nitro", "cowpea", "maize"))
cowpea$y <- cowpea$myield / 1000
single("cowpea", aov(y ~ block + (nitro + cowpea + maize)^3, cowpea))
single("cowpea 2", aov(y ~ block + (nitro + cowpea + maize)^2, cowpea))
scab <- table_of("potato_scab_sulfur.csv", "trt")
single("scab", aov(inf ~ trt, scab))
worms <- table_of("eelworm_fumigation.csv", c("block", "fumigant", "dose"))
worms$trt <- interaction(worms$fumigant, worms$dose, drop = TRUE)
single("eelworm plain", aov(log(final) ~ block + trt, worms))
single("eelworm", aov(log(final) ~ block + log(initial) + trt, worms))
pots <- table_of("plant_growth_regulator.csv", c("Dose", "Row", "Column"))
single("regulator plain", aov(Height ~ Dose, pots))
single("regulator", aov(Height ~ Row + Column + Dose, pots))
corn <- table_of("corn_hybrid_density.csv", c("A", "B"))
single("corn", aov(Resp ~ A * B, corn))
soy <- table_of("soybean_cultivars.csv", c("cult", "bloc"))
single("soybean", aov(prod ~ bloc + cult, soy))
orange <- table_of("orange_rootstocks.csv", c("trat", "bloco"))
single("orange", aov(resp ~ bloco + trat, orange))
pairs_of("orange", emmeans(aov(resp ~ bloco + trat, orange), "trat"), "tukey")

colour <- read.table(from("colour_ratings.txt"), header = TRUE)
colour$rating <- factor(colour$rating, c("Poor", "Average", "Good", "Excellent"), ordered = TRUE)
colour$manage <- factor(colour$manage); colour$nitro <- factor(colour$nitro)
fixed <- clm(rating ~ nitro + manage + week, data = colour)
for (name in names(coef(fixed))) put("colour", "clm", name, value = coef(fixed)[[name]],
                                     se = sqrt(diag(vcov(fixed)))[[name]])
put("colour", "clm", "log likelihood", value = as.numeric(logLik(fixed)))
colour$plot <- interaction(colour$rep, colour$manage, colour$nitro)
random <- clmm(rating ~ nitro + week + (1 | plot), data = colour, nAGQ = 15)
for (name in names(coef(random))) put("colour", "clmm", name, value = coef(random)[[name]],
                                      se = sqrt(diag(vcov(random)))[[name]])
put("colour", "clmm", "log likelihood", value = as.numeric(logLik(random)))
put("colour", "clmm", "sd plot", value = sqrt(as.numeric(VarCorr(random)$plot)))

write.csv(do.call(rbind, rows), "trials.csv", row.names = FALSE, na = "")
cat(R.version.string, "\n", file = "versions.txt")
for (p in c("lme4", "lmerTest", "pbkrtest", "emmeans", "multcomp", "ordinal"))
  cat(p, as.character(packageVersion(p)), "\n", file = "versions.txt", append = TRUE)
