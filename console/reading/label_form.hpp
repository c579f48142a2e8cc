#pragma once

#include <nlohmann/json.hpp>

#include "console/reading/fact.hpp"

namespace stonecall::reading {

/// A proposal as one flat JSON object with "field", as in
/// {"field":"share","rock":"scoria","low":10,"high":30}, and the members "begin", "end" (bytes of
/// the text) and "sure". Kinds that the plan does not list are written under fields of their own
/// ("rock_outside_plan"); a station that was not said under "station_unsaid".
nlohmann::ordered_json label_form(const Proposal& proposal);

}  // namespace stonecall::reading
