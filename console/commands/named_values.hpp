#pragma once

#include <iosfwd>
#include <map>
#include <string>
#include <vector>

namespace stonecall::commands {

/// What is given as NAME=VALUE, once or more, into a map; at the last sign, since a file's name may
/// hold one. False where one is not of this form, told on `err`. `form` says what stands for what,
/// as "TAG=NAME".
bool take_named(const std::string& option, const std::string& form,
                const std::vector<std::string>& given, std::map<std::string, std::string>& into,
                std::ostream& err);

}  // namespace stonecall::commands
