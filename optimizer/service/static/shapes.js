// Shapes of what the service answers, as its OpenAPI document has them: so much of each as the page reads. Types alone,
// for the check of the scripts; no script needs this file to run.

/**
 * @typedef {"waiting" | "starting" | "running" | "ended" | "stopped" | "failed"} State
 */

/**
 * @typedef {object} About
 * @property {number} running_most
 * @property {number} minutes_most
 * @property {number} upload_bytes_most
 * @property {string[]} cautions_of_hands
 * @property {string[]} cautions_of_making
 */

/**
 * @typedef {object} Finding
 * @property {string} path
 * @property {number | null} [line]
 * @property {string} message
 */

/**
 * @typedef {object} Problem
 * @property {string} title
 * @property {string} detail
 * @property {Finding[]} [problems]
 */

/**
 * @typedef {object} OfferedFile
 * @property {string} name
 * @property {string} about
 */

/**
 * @typedef {object} OfferedHand
 * @property {string} name
 * @property {string} about
 * @property {string} title
 */

/**
 * @typedef {object} Question
 * @property {string} answer
 * @property {string} words
 * @property {string} usual
 * @property {string} left_open
 * @property {[string, string][]} choices
 * @property {"words" | "number" | "whole number" | "yes or no" | "table" | "file"} kind
 */

/**
 * @typedef {object} BegunProject
 * @property {string} project
 */

/**
 * @typedef {object} FoundFingering
 * @property {"chart" | "trill" | "alternate"} kind
 * @property {string} touches
 * @property {number} register_number
 * @property {number} cents
 * @property {number} sd_cents
 * @property {number | null} height_over_lower
 * @property {number | null} quality_over_main
 * @property {number} effort
 * @property {string} line
 */

/**
 * @typedef {object} NoteFingerings
 * @property {string} written
 * @property {number} off_cents
 * @property {FoundFingering[]} ways
 * @property {number} left_out
 */

/**
 * @typedef {object} FingeringsRecord
 * @property {number} fingerings
 * @property {number} within_cents
 * @property {NoteFingerings[]} notes
 */

/**
 * @typedef {object} SoundProject
 * @property {string} instrument
 * @property {string[]} summary
 * @property {Finding[]} questions
 */

/**
 * @typedef {object} RunSummary
 * @property {string} id
 * @property {string} instrument
 * @property {State} state
 * @property {string | null} ended_by
 * @property {string} message
 * @property {string} started
 * @property {number | null} trials_wanted
 * @property {number} trials_done
 * @property {number} trials_failed
 * @property {number} layouts
 * @property {boolean} feasible
 * @property {Record<string, number>} best
 * @property {string} same
 * @property {string[]} [in_the_way]
 * @property {number | null} [waiting_before]
 */

/**
 * @typedef {object} RunList
 * @property {number} total
 * @property {RunSummary[]} runs
 */

/**
 * @typedef {object} ProgressRecord
 * @property {number} elapsed_seconds
 * @property {number | null} seconds_left
 * @property {number} trials_done
 * @property {number} trials_failed
 * @property {number} trials_per_second
 * @property {number} workers
 * @property {number} layouts
 * @property {Record<string, number>} best
 * @property {number} hypervolume
 */

/**
 * @typedef {object} Moment of the stream of events, which OpenAPI does not describe
 * @property {RunSummary} run
 * @property {ProgressRecord | null} progress
 * @property {string | null} front
 * @property {string | null} book
 */

/**
 * @typedef {object} Removed
 * @property {string} removed
 */

/**
 * @typedef {object} Restored
 * @property {string} run
 */

/**
 * @typedef {object} ResultFile
 * @property {string} name
 * @property {number} bytes
 */

/**
 * @typedef {object} FrontEntry
 * @property {string} id
 * @property {Record<string, number>} objectives
 * @property {string[]} binds
 */

/**
 * @typedef {object} FrontRecord
 * @property {string[]} objectives
 * @property {Record<string, string>} units
 * @property {boolean} feasible
 * @property {FrontEntry[]} layouts
 * @property {boolean} [sought_otherwise]
 */

/**
 * @typedef {object} PickRecord
 * @property {string} id
 * @property {string} sentence
 */

/**
 * @typedef {object} RecommendationRecord
 * @property {PickRecord[]} picks
 * @property {Record<string, string>} left_out
 */

/**
 * @typedef {object} AirState
 * @property {number} reed_degC
 * @property {number} bell_degC
 */

/**
 * @typedef {object} Reference
 * @property {AirState} air
 * @property {number} a4_hz
 */

/**
 * @typedef {object} NoteRecord
 * @property {string} written
 * @property {string} touches
 * @property {number} target_hz
 * @property {number} register_number
 * @property {boolean} alternate
 * @property {number | null} cents
 * @property {"ok" | "weak" | "other register" | "silent"} status
 * @property {number | null} resonance_number
 * @property {number | null} height_over_lower
 */

/**
 * @typedef {object} HoleRecord
 * @property {string} id
 * @property {"LT" | "L1" | "L2" | "L3" | "L4" | "RT" | "R1" | "R2" | "R3" | "R4" | string} by
 * @property {number} position_mm
 * @property {number} azimuth_deg
 * @property {number} diameter_mm
 * @property {number} top_diameter_mm
 * @property {number} body_diameter_mm
 */

/**
 * @typedef {object} ReachRecord
 * @property {string} pair
 * @property {number} spacing_mm
 * @property {number} comfortable_mm
 * @property {number} working_mm
 */

/**
 * @typedef {object} Binding
 * @property {string} name
 * @property {number} margin_mm
 * @property {string} sentence
 */

/**
 * @typedef {object} Bend where a folded body turns back along its centre line
 * @property {string} id
 * @property {number} at_mm
 * @property {number} radius_mm
 */

/**
 * @typedef {object} BoreTable
 * @property {number} wall_mm
 * @property {Bend[]} [bends]
 */

/**
 * @typedef {object} PieceRecord
 * @property {number} to_mm
 */

/**
 * @typedef {object} FreeNumber
 * @property {string} name
 * @property {number} value
 * @property {number} least
 * @property {number} most
 */

/**
 * @typedef {object} MovedLayout
 * @property {FreeNumber[]} numbers
 * @property {[number, number][]} bore_mm
 * @property {HoleRecord[]} holes
 * @property {PieceRecord[]} pieces
 * @property {NoteRecord[]} notes
 * @property {ReachRecord[]} reach
 * @property {Record<string, number>} objectives
 * @property {boolean} feasible
 * @property {Record<string, number>} margins_mm
 * @property {Binding[]} binds
 * @property {boolean | null} [settled]
 */

/**
 * @typedef {object} MovedNumber
 * @property {string} name
 * @property {number} was
 * @property {number} now
 */

/**
 * @typedef {object} Parentage
 * @property {string} layout
 * @property {MovedNumber[]} moved
 */

/**
 * @typedef {object} ByHandEntry
 * @property {string} id
 * @property {Parentage} parentage
 * @property {Record<string, number>} objectives
 * @property {boolean} feasible
 * @property {string[]} better_on_front
 */

/**
 * @typedef {object} LayoutRecord
 * @property {string} id
 * @property {Reference} reference
 * @property {BoreTable} bore
 * @property {NoteRecord[]} notes
 * @property {Record<string, string | number>} provenance
 * @property {Parentage | null} [parentage]
 */

/**
 * @typedef {object} HandRecord
 * @property {string} name
 * @property {string} source
 * @property {string[]} troubles
 * @property {string[]} remarks
 */

/**
 * @typedef {object} PredictionRecord
 * @property {number} a4_hz
 * @property {AirState} air
 * @property {number | null} mean_cents
 * @property {number | null} least_cents
 * @property {number | null} most_cents
 * @property {NoteRecord[]} notes
 * @property {HandRecord | null} hand
 */

/**
 * @typedef {object} PrintedBody
 * @property {number} mass_g
 */

/**
 * @typedef {object} ComparedLayout
 * @property {string} mark
 * @property {string} id
 * @property {string} instrument
 * @property {boolean} feasible
 * @property {Record<string, number>} objectives
 * @property {number} holes
 * @property {number} body_length_mm
 * @property {number} bell_diameter_mm
 * @property {PrintedBody} printed
 */

/**
 * @typedef {object} ComparedNote NoteChange of a comparison
 * @property {string} written
 * @property {number} register_number
 * @property {boolean} alternate
 * @property {[string | null, string | null]} touches
 * @property {[number | null, number | null]} cents
 */

/**
 * @typedef {object} Comparison
 * @property {string} first
 * @property {string} other
 * @property {ComparedNote[]} notes
 * @property {string[]} remarks
 */

/**
 * @typedef {object} ComparisonRecord
 * @property {ComparedLayout[]} layouts
 * @property {Comparison[]} comparisons
 */

/**
 * @typedef {object} ExtensionSummary
 * @property {string} id
 * @property {string} present
 * @property {string} extended
 * @property {State} state
 * @property {string} message
 * @property {string} asked
 */

/**
 * @typedef {object} FitSummary
 * @property {Record<string, number>} objectives
 * @property {boolean} feasible
 * @property {number} wrong_notes
 * @property {number} violation_mm
 */

/**
 * @typedef {object} ExtendedNote NoteChange of an extension
 * @property {string} written
 * @property {number} register_number
 * @property {boolean} alternate
 * @property {number | null} before_cents
 * @property {number | null} after_cents
 */

/**
 * @typedef {object} Redrilled
 * @property {string} hole
 * @property {number} from_mm
 * @property {number} to_mm
 */

/**
 * @typedef {object} WayEntry
 * @property {"free" | "kept" | "redrilled"} way
 * @property {string} sentence
 * @property {FitSummary} fit
 * @property {number} common_rms_cents
 * @property {number} common_worst_cents
 * @property {number} cost_cents
 * @property {ExtendedNote[]} notes
 * @property {number[]} print_pieces
 * @property {Redrilled[]} redrill
 * @property {number} reed_volume_cm3
 */

/**
 * @typedef {object} ExtensionRecord
 * @property {string[]} new_notes
 * @property {number} before_rms_cents
 * @property {WayEntry[]} ways
 * @property {string[]} cautions
 */

/**
 * @typedef {object} DeviationRecord
 * @property {string} kind
 * @property {number} sd
 * @property {"mm" | "%" | "degC" | "cm3"} unit
 * @property {string} varies
 * @property {string} source
 */

/**
 * @typedef {object} Band
 * @property {number} p05
 * @property {number} p50
 * @property {number} p95
 */

/**
 * @typedef {object} NoteTolerance
 * @property {string} written
 * @property {number} register_number
 * @property {boolean} alternate
 * @property {number} cents
 * @property {number} making_sd_cents
 * @property {number} playing_sd_cents
 * @property {Band} drawn
 */

/**
 * @typedef {object} Chance
 * @property {number} within_cents
 * @property {number} notes
 * @property {number} share
 * @property {number} low
 * @property {number} high
 */

/**
 * @typedef {object} Share
 * @property {string} name
 * @property {number} percent
 */

/**
 * @typedef {object} HoleAdvice
 * @property {string} hole
 * @property {number} diameter_mm
 * @property {string} note
 * @property {number} cents_per_tenth
 * @property {number} reading_cents
 * @property {number | null} [under_mm]
 * @property {number | null} [finished_mm]
 * @property {[number, number] | null} [drawn_mm]
 * @property {number | null} [flat_cents]
 * @property {number | null} [certainty]
 */

/**
 * @typedef {object} ToleranceRecord
 * @property {number} samples
 * @property {Share[]} [doubt]
 * @property {DeviationRecord[]} deviations
 * @property {NoteTolerance[]} notes
 * @property {string[]} left_out
 * @property {Chance} chance
 * @property {Share[]} shares
 * @property {number} worth_cents
 * @property {HoleAdvice[]} holes
 * @property {string[]} cautions
 */

/**
 * @typedef {object} MostMoved
 * @property {string} written
 * @property {number} grows_cents
 */

/**
 * @typedef {object} LimitPrice
 * @property {string} sentence
 * @property {number} by_multiplier
 * @property {number | null} by_solving
 * @property {MostMoved | null} most_moved
 * @property {string} remark
 */

/**
 * @typedef {object} PlateOff
 * @property {string} hole
 * @property {number | null} dearer_cents
 */

/**
 * @typedef {object} PricesRecord
 * @property {number} saved_cents
 * @property {number} cents
 * @property {boolean} kept
 * @property {boolean} [rests]
 * @property {number} least_cents
 * @property {LimitPrice[]} prices
 * @property {string[]} free
 * @property {PlateOff[]} plates_off
 */

/**
 * @typedef {object} ReliefEntry
 * @property {string} sentence
 * @property {boolean} tried
 * @property {FitSummary | null} [fit]
 * @property {number | null} [cost_cents]
 * @property {string[]} [relieved]
 */

/**
 * @typedef {object} ReliefsRecord
 * @property {string} hand
 * @property {FitSummary} as_it_is
 * @property {string[]} hand_limits
 * @property {ReliefEntry[]} reliefs
 * @property {string[]} cautions
 */

export {};

/**
 * @typedef {object} Done
 * @property {number} number
 * @property {number} amount
 */

/**
 * @typedef {object} BookEntry
 * @property {string} id
 * @property {"recording" | "tuner table" | "gauge readings" | "impedance" | "fit" | "correction"} kind
 * @property {string | null} after
 * @property {string} title
 * @property {string} written
 * @property {Done[] | null} done
 */

/**
 * @typedef {object} MeasuredNote
 * @property {string} written
 * @property {number} register_number
 * @property {string} fingering
 * @property {number} cents
 * @property {number} sd_cents
 * @property {number[]} takes
 * @property {("unsteady" | "cracked" | "octave doubtful" | "clipped")[]} [flags]
 */

/**
 * @typedef {object} MeasurementRecord
 * @property {number} a4_hz
 * @property {MeasuredNote[]} notes
 * @property {string[]} [remarks]
 */

/**
 * @typedef {object} Unassigned
 * @property {number | null} at_s
 * @property {string} why
 */

/**
 * @typedef {object} TakenTone
 * @property {number} begin_s
 * @property {number} hz
 * @property {number | null} line
 * @property {string} why
 * @property {boolean} [by_hand]
 */

/**
 * @typedef {object} Taken
 * @property {string} source
 * @property {TakenTone[]} tones
 * @property {Unassigned[]} left_out
 */

/**
 * @typedef {object} TakesRecord
 * @property {Taken[]} takes
 */

/**
 * @typedef {object} GaugedValue
 * @property {"hole" | "hole_top" | "chimney" | "position" | "bore" | "length"} what
 * @property {string} where
 * @property {number} value_mm
 * @property {number} sd_mm
 * @property {number | null} [drawn_mm]
 * @property {string[]} tools
 */

/**
 * @typedef {object} GaugedRecord
 * @property {GaugedValue[]} values
 * @property {string[]} remarks
 */

/**
 * @typedef {object} ResonancePair
 * @property {number | null} number
 * @property {number | null} computed_hz
 * @property {number | null} measured_hz
 * @property {number | null} cents
 */

/**
 * @typedef {object} ImpedanceRecord
 * @property {string} note
 * @property {string} touches
 * @property {number} temperature_degC
 * @property {ResonancePair[]} resonances
 * @property {number | null} median_cents
 */

/**
 * @typedef {object} FittedNote
 * @property {string} written
 * @property {number} register_number
 * @property {boolean} alternate
 * @property {number} designed_cents
 * @property {number} designed_sd_cents
 * @property {number} cents
 * @property {number} sd_cents
 * @property {number | null} [measured_cents]
 * @property {number | null} [alone_cents]
 * @property {number | null} [alone_sd_cents]
 */

/**
 * @typedef {object} NextStep
 * @property {"note" | "gauge"} kind
 * @property {string} name
 * @property {number} doubt_cents
 */

/**
 * @typedef {object} CalibrationRecord
 * @property {string[]} fitted_on
 * @property {FittedNote[]} notes
 * @property {string[]} says
 * @property {string[]} cannot_say
 * @property {string[]} looks_like
 * @property {string[]} outside
 * @property {string[]} remarks
 * @property {number} doubt_cents
 * @property {NextStep[]} [next_best]
 */

/**
 * @typedef {object} CorrectionStep
 * @property {number} number
 * @property {number} now
 * @property {number} whole
 * @property {"mm" | "mm3"} unit
 * @property {string} words
 */

/**
 * @typedef {object} CorrectedNote
 * @property {string} written
 * @property {number} register_number
 * @property {boolean} alternate
 * @property {number} cents
 * @property {number} sd_cents
 * @property {number} after_pass_cents
 * @property {number} after_cents
 */

/**
 * @typedef {object} Stage
 * @property {"designed" | "measured" | "corrected"} what
 * @property {number} number
 * @property {number} worst_cents
 * @property {number} rms_cents
 */

/**
 * @typedef {object} Reprint
 * @property {number} rms_cents
 * @property {string} words
 */

/**
 * @typedef {object} CorrectionRecord
 * @property {number} number
 * @property {CorrectionStep[]} steps
 * @property {CorrectedNote[]} notes
 * @property {Stage[]} history
 * @property {Reprint | null} [reprint]
 * @property {string[]} [remarks]
 * @property {string[]} [cautions]
 */

/**
 * @typedef {object} PresentRun
 * @property {RunSummary} run
 * @property {string[]} remarks
 */

/**
 * @typedef {object} KindOfFiles
 * @property {string} name
 * @property {string} told
 * @property {string} lacking
 */
