// What the server sends, as src/docs/desk-api.md describes it. Types only.

/** @typedef {{what: string, do?: string, option?: string}} Trouble */
/** @typedef {{cell_px: number, columns: number, rows: number, times: number[]}} Noise where it is raised, row by row; 1: it is not */
/** @typedef {{word: "good" | "fair" | "poor", advice: string[]}} Health */
/** @typedef {{id: string, name: string}} Named */
/**
 * @typedef {object} Capture
 * @property {string} id
 * @property {string} name
 * @property {string} folder
 * @property {number} bytes
 * @property {string} modified
 * @property {string | null} container
 * @property {number | null} width
 * @property {number | null} height
 * @property {number | null} frames
 * @property {number | null} duration_s
 * @property {number | null} frames_per_s
 * @property {string | null} colour
 * @property {string | null} cfa
 * @property {number | null} bits
 * @property {string | null} begun_utc
 * @property {string | null} target
 * @property {Health | null} health
 * @property {boolean} growing
 * @property {Trouble | string | null} error
 * @property {boolean} surveyed
 * @property {"named" | "possible" | "no" | null} sun
 * @property {Named[]} results
 */
/** @typedef {{name: string, state: "waiting" | "at work" | "done" | "failed" | "skipped", captures: string[], error: Trouble | null}} NightPicture */
/** @typedef {{id: string, results: string, has_page: boolean, pictures: NightPicture[]}} Night */
/** @typedef {{name: string, what: string, next: string}} Finding */
/** @typedef {Record<string, any>} Inspect what `lull inspect --json` prints */
/** @typedef {{sharpness_middle: number | null, sharpness_best_tenth: number | null, d_over_r0: number | null, altitude_deg: number | null}} NightFigures */
/** @typedef {Capture & {inspect: Inspect | null, trend: NightFigures | null, notes: string[]}} CaptureDetails */
/**
 * @typedef {object} Survey
 * @property {string} capture
 * @property {number} frames
 * @property {number[]} index
 * @property {(number | null)[]} time_s
 * @property {(number | null)[]} sharpness
 * @property {(number | null)[]} brightness
 * @property {(number | null)[]} shift_x_px
 * @property {(number | null)[]} shift_y_px
 * @property {(string | null)[]} left_out
 * @property {number[]} order
 * @property {string} measure
 * @property {string | null} target
 * @property {string[]} notes
 * @property {Health | null} health
 * @property {{light: number[], counts: number[][]} | null} histogram
 * @property {Inspect | null} inspect
 */
/**
 * @typedef {object} Cells
 * @property {number} cell_px
 * @property {number} columns
 * @property {number} rows
 * @property {number[]} sharpness
 * @property {string} measure
 */
/**
 * @typedef {object} Option
 * @property {string} name
 * @property {string} group
 * @property {string} heading
 * @property {string} value
 * @property {string} help
 * @property {string | number | boolean | null} default
 * @property {"switch" | "choice" | "number" | "file" | "text"} kind
 * @property {string[]} choices
 * @property {number | null} low
 * @property {number | null} high
 * @property {string} unit
 * @property {string[]} needs
 */
/** @typedef {Record<string, string | number | boolean | string[]>} Chosen options that were chosen, by name */
/** @typedef {"waiting" | "running" | "paused" | "done" | "failed" | "cancelled" | "interrupted"} JobState */
/**
 * @typedef {object} Job
 * @property {number} id
 * @property {string} verb
 * @property {string[]} captures
 * @property {string[]} names
 * @property {string} output
 * @property {JobState} state
 * @property {string} stage
 * @property {number} done
 * @property {number} total
 * @property {number} share
 * @property {number | null} left_s
 * @property {number} [preview] grows when a new preview can be had; 0: none
 * @property {string | null} created_utc
 * @property {string | null} started_utc
 * @property {string | null} ended_utc
 * @property {Trouble | null} error
 * @property {string[]} warnings
 * @property {string[]} results ids; one for each output
 * @property {string} command
 */
/** @typedef {{name: string, bytes: number, kind: string}} ResultFile */
/** @typedef {{id: string, name: string, verb: string, modified: string, captures: string[]}} ResultEntry */
/**
 * @typedef {object} Result
 * @property {string} id
 * @property {string} name
 * @property {string} verb
 * @property {number} width
 * @property {number} height
 * @property {number} channels
 * @property {string} command
 * @property {ResultFile[]} files
 * @property {boolean} linear
 * @property {string[]} [captures]
 * @property {Record<string, any>} recipe
 * @property {Record<string, any>} figures
 */
/**
 * @typedef {object} Frc
 * @property {number[]} frequency_cycles_per_px
 * @property {(number | null)[]} frc
 * @property {(number | null)[]} threshold
 * @property {number | null} resolution_px
 * @property {number | null} arcsec_per_px
 */
/** @typedef {{width: number, height: number, channels: number, tile_px: number, levels: number}} Tiles */
/** @typedef {{profiles: string[], chosen: string | null, title: string | null}} Instruments */
/**
 * @typedef {object} Desk
 * @property {string} version
 * @property {string} folder
 * @property {Trouble | null} folder_error
 * @property {string} results_folder
 * @property {number} threads
 * @property {number} memory_bytes
 * @property {string} sun_caution
 * @property {boolean} sun_caution_seen
 */
export {};
