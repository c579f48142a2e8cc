#pragma once

#include "console/debrief/look_back.hpp"
#include "console/debrief/markup.hpp"
#include "console/debrief/pen.hpp"

/// The report's sections, one file each, without their headings; report.cpp names and orders them.
namespace stonecall::debrief::sections {

Markup glance(const Debrief& debrief, Pen& pen);     ///< job and result
Markup hours(const Debrief& debrief, Pen& pen);      ///< planned against walked
Markup samples(const Debrief& debrief, Pen& pen);    ///< with what each lacks
Markup ground(const Debrief& debrief, Pen& pen);     ///< shares station by station
Markup growth(const Debrief& debrief, Pen& pen);     ///< kinds met over rocks looked at
Markup calls(const Debrief& debrief, Pen& pen);      ///< each with what was known then
Markup callers(const Debrief& debrief, Pen& pen);    ///< spoken shares against counts
Markup questions(const Debrief& debrief, Pen& pen);  ///< unanswered ones, and what was pinned
Markup log(const Debrief& debrief, Pen& pen);        ///< its own checks
Markup method(const Debrief& debrief, Pen& pen);     ///< settings and sources
Markup cautions(const Debrief& debrief, Pen& pen);

}  // namespace stonecall::debrief::sections
