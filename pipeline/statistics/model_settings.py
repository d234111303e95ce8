"""The knobs of the price model, each with its unit and the reason for its default."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field, model_validator


class ModelSettings(BaseModel):
    """Settings of `fit_model`. Frozen; a value out of range fails when it is built."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    window_days: int = Field(
        default=3650,
        gt=0,
        description="Days. Older sales do not count; ten years, since the time effects bring a "
        "sale to today and dropping old ones only cost accuracy in the back-test.",
    )
    half_life_days: float = Field(
        default=1460.0,
        gt=0,
        description="Days after which a sale counts half in the fit. Long, because the index "
        "already carries prices through time; it lets effects drift slowly.",
    )
    robustness: float = Field(
        default=5.0,
        gt=1,
        description="Degrees of freedom of the t distribution that weighs residuals. 5: log "
        "prices have tails heavier than normal, and a wild price must not move its cell.",
    )
    least_level_count: int = Field(
        default=2,
        ge=1,
        description="Sales. A condition, material or other term seen less often has no effect of "
        "its own; shrinkage does the rest.",
    )
    least_word_count: int = Field(
        default=5, ge=1, description="Sales. A word or pair in fewer titles is not counted."
    )
    most_words: int = Field(
        default=1200,
        ge=0,
        description="Words and pairs, the most frequent first. The cost of a fit grows with the "
        "cube of the shared effects; more did not lower the error.",
    )
    most_word_share: float = Field(
        default=0.95,
        gt=0,
        le=1,
        description="Share of titles. A word in more of them tells nothing apart.",
    )
    least_word_sales: int = Field(
        default=200,
        ge=0,
        description="Sales. With fewer, no words or pairs beyond a third of the sales enter.",
    )
    curve_knots: int = Field(
        default=40,
        ge=0,
        description="Most knots of the curve of a numeric measure. Ten missed the steps of "
        "memory and disk sizes in the back-test; the penalty smooths what is not needed.",
    )
    least_measure_count: int = Field(
        default=50,
        ge=1,
        description="Sales that tell a measure, or all of them. One that fewer tell has no slope "
        "of its own in the families.",
    )
    relative_measures: tuple[str, ...] = Field(
        default=(),
        description="Measures that count against the usual one of the category, by logarithm: a "
        "large thimble is small, and that it is no wardrobe its category tells.",
    )
    interactions: bool = Field(
        default=True,
        description="Whether shared effects may depend on each other (condition by material, "
        "size by condition). Their variance is estimated, so useless ones vanish.",
    )
    most_interactions: int = Field(
        default=1500,
        ge=0,
        description="Columns. Pairs of terms or of a term and a measure beyond it are left out.",
    )
    extra_factors: tuple[str, ...] = Field(
        default=(),
        description="Further text columns of the sales that act as shared effects.",
    )
    time_unit: str = Field(
        default="auto",
        pattern="^(auto|month|quarter)$",
        description="Grain of the index; auto takes months where they hold 20 sales on average.",
    )
    trend_damping: float = Field(
        default=0.8,
        ge=0,
        le=1,
        description="Share of the straight trend that is carried past the last sale.",
    )
    variance_rounds: int = Field(
        default=10,
        ge=1,
        description="Rounds of the REML equations; what still moves after it moves no price.",
    )
    n_neighbours: int = Field(
        default=30,
        ge=0,
        le=200,
        description="Nearest earlier sales that a prediction reads; 20 to 40 hardly differ, and a "
        "person can still look through them. 0 switches them off.",
    )
    least_neighbour_sales: int = Field(
        default=60,
        ge=10,
        description="Sales. Below it likeness cannot be learned and effects stand alone.",
    )
    most_neighbour_sales: int = Field(
        default=60_000,
        ge=100,
        description="Latest sales of a family that are searched; keeps a prediction quick.",
    )
    most_joint_sales: int = Field(
        default=150_000,
        ge=1_000,
        description="Sales up to which words and terms are fitted together; beyond it words come "
        "from a sample that keeps thin categories whole, and terms from all counted cells. Words "
        "gain nothing from more, and a fit of ten million sales stays within half a minute.",
    )
    calibration_share: float = Field(
        default=0.2,
        gt=0,
        le=0.5,
        description="Share of the latest sales that are predicted from the earlier ones to learn "
        "how wide the ranges must be.",
    )
    drift_share: float = Field(
        default=0.5,
        ge=0,
        le=1,
        description="Share of the held-back sales' common error, beyond what is chance, that is "
        "carried into predictions.",
    )
    least_calibration_sales: int = Field(
        default=20,
        ge=20,
        description="Sales. With fewer in a held-back block the ranges come from leaving one out.",
    )
    enough_calibration_sales: int = Field(
        default=300,
        ge=20,
        description="Sales. Until so many are held back, older blocks are held back and foretold "
        "too, since ranges learned from 100 errors hold anything from 72 to 88 % where 80 is "
        "asked. More than needed only bring errors of another time.",
    )
    most_calibration_sales: int = Field(
        default=20_000, ge=100, description="Sales, the latest; more do not move the ranges."
    )
    own_many: int = Field(
        default=30,
        ge=2,
        description="Own sales from which evidence is called strong; P90 is bounded from 29.",
    )
    own_some: int = Field(
        default=8,
        ge=1,
        description="Own sales from which evidence is called fair; a 95 % interval of the median "
        "exists from 6 and is shorter than the whole sample from 9.",
    )
    seed: int = Field(default=20_240_101, ge=0, description="Start of the few random draws.")

    @model_validator(mode="after")
    def _evidence_in_order(self) -> ModelSettings:
        if self.own_some >= self.own_many:
            raise ValueError("own_some lies below own_many")
        return self
