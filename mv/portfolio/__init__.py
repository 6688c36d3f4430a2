"""Many studies together: what is kept of each, the tables, pooled totals, the worst findings."""

from mv.portfolio.account import summary_of
from mv.portfolio.columns import METER_COLUMNS, STUDY_COLUMNS
from mv.portfolio.condense import condensed
from mv.portfolio.lines import summary_lines
from mv.portfolio.parquet import meters_parquet, studies_parquet
from mv.portfolio.pooling import Pool, Share, common_correlation, pooled
from mv.portfolio.records import BrokenStudy, Outcome, StudyRecord, record_of_text, record_text

__all__ = [
    "METER_COLUMNS",
    "STUDY_COLUMNS",
    "BrokenStudy",
    "Outcome",
    "Pool",
    "Share",
    "StudyRecord",
    "common_correlation",
    "condensed",
    "meters_parquet",
    "pooled",
    "record_of_text",
    "record_text",
    "studies_parquet",
    "summary_lines",
    "summary_of",
]
