#include "console/commands/named_values.hpp"

#include <ostream>

namespace stonecall::commands {

bool take_named(const std::string& option, const std::string& form,
                const std::vector<std::string>& given, std::map<std::string, std::string>& into,
                std::ostream& err) {
  for (const std::string& each : given) {
    const std::size_t equals = each.rfind('=');
    if (equals == std::string::npos || equals == 0 || equals + 1 == each.size()) {
      err << "stonecall: " << option << ": expected " << form << ", not \"" << each << "\"\n";
      return false;
    }
    into[each.substr(0, equals)] = each.substr(equals + 1);
  }
  return true;
}

}  // namespace stonecall::commands
