#!/usr/bin/env bash
# Breaks the models of fire and walls on purpose, one sensible mistake at a time, and sees whether the check that
# should notice does: a check that never fails proves nothing.
#
#   tests/physics/mutations.sh            every mistake; some seconds each
#   tests/physics/mutations.sh WORD...    only the mistakes whose check or file contains a word
#   tests/physics/mutations.sh --list     the mistakes, and the check that must notice each
#   tests/physics/mutations.sh --table    every mistake, and at the end the rows of docs/broken-on-purpose.md
#
# Works on a copy of the files that git tracks or would track, in a folder of its own that is removed at the end: your
# files stay as they are. In the copy only the modules that these checks need are built, which saves minutes a mistake.
# Builds into target/mutations, or $GLOWSILL_MUTATIONS_TARGET, beside your own builds.
#
# Exit code 0 when every mistake was noticed, 1 when one was not, 2 when the run itself is wrong: a text to be replaced
# that is no longer there, a mistake that does not compile, a check that fails without a mistake.

set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
readonly ROOT=$PWD
export CARGO_TARGET_DIR=${GLOWSILL_MUTATIONS_TARGET:-$ROOT/target/mutations}

# One mistake a record: mistake TEST CHECK FILE FROM TO WORDS. FROM must stand exactly once in FILE, which lies
# below sim-host/src/world.
tests=() checks=() files=() froms=() tos=() words=()
mistake() {
    tests+=("$1") checks+=("$2") files+=("sim-host/src/world/$3") froms+=("$4") tos+=("$5") words+=("$6")
}

# Walls: steady heat, energy, water.
t=conduction_balance
mistake $t steady_heat_is_that_of_resistances_in_series conduction/wall.rs \
    'Link::Solid(material.conductivity_w_mk / cell_m)' 'Link::Solid(2.0 * material.conductivity_w_mk / cell_m)' \
    'conductance of a half cell between whole ones'
mistake $t steady_heat_is_that_of_resistances_in_series conduction/boundary.rs \
    'self.convection_w_m2k * (self.gas_k - face_k) + radiation' '0.9999 * self.convection_w_m2k * (self.gas_k - face_k) + radiation' \
    'convection 0.01 % too small'
mistake $t an_air_space_passes_radiation_and_air_heat conduction/cavity.rs \
    '1.0 / (1.0 / first + 1.0 / second - 1.0)' 'first * second' \
    'product of the emissivities for the exchange of parallel faces'
mistake $t an_air_space_passes_radiation_and_air_heat conduction/cavity.rs \
    'let heat = air * (fire_k - room_k) + radiation' 'let heat = radiation' \
    'heat through the air of an air space left out'
mistake $t air_is_that_of_the_tables conduction/cavity.rs \
    '(273.15 + 194.0) / (kelvin + 194.0)' '(273.15 + 110.6) / (kelvin + 110.6)' \
    'Sutherland constant of viscosity taken for conductivity'
mistake $t air_is_that_of_the_tables conduction/cavity.rs \
    '1.716e-5 * (kelvin / 273.15).powf(1.5)' '1.716e-5 * (kelvin / 273.15).powf(1.6)' \
    'exponent 1.6 for 1.5 in the viscosity of air'
mistake $t air_spaces_have_the_usual_coefficients conduction/cavity.rs \
    '(factor * (grashof * prandtl).powf(power)).max(1.0)' 'factor * (grashof * prandtl).powf(power)' \
    'Nusselt number allowed below 1'
mistake $t air_spaces_have_the_usual_coefficients conduction/cavity.rs \
    'difference.max(0.0)),' 'difference.abs()),' \
    'level air that is hot above convects'
mistake $t energy_is_conserved_in_every_wall_of_the_library conduction/wall.rs \
    'self.fire_j_m2 += carried * first.fire_w_m2 + weight * second.fire_w_m2;' 'self.fire_j_m2 += dt_s * second.fire_w_m2;' \
    'heat through the face counted at the second stage alone'
mistake $t energy_is_conserved_in_every_wall_of_the_library conduction/wall/stage.rs \
    'scratch.right[i + 1] += weight_s * heat;' 'scratch.right[i + 1] += 0.999 * weight_s * heat;' \
    'a thousandth of the heat lost from node to node'
mistake $t bound_water_takes_its_heat_once conduction/wall/node.rs \
    'share.clamp(0.0, 1.0).max(self.gone)' 'share.clamp(0.0, 1.0)' \
    'bound water comes back on cooling'
mistake $t bound_water_delays_a_board conduction/wall.rs \
    'latent_j_m2: halves * half_kg_m2 * water.latent_j_kg' 'latent_j_m2: halves * half_kg_m2 * water.latent_j_kg / 1000.0' \
    'latent heat in kJ taken for J'
mistake $t bound_water_delays_a_board conduction/library.rs '0.8 * 609e3' '0.08 * 609e3' \
    'a tenth of the water bound in plasterboard'
mistake $t saturation_pressures conduction/water.rs '(celsius + 243.04)' '(celsius + 234.04)' \
    'digits of the Magnus form transposed'
mistake $t saturation_pressures conduction/water.rs '(17.625 * celsius' '(17.265 * celsius' \
    'digits of the Magnus exponent transposed'
mistake $t a_spray_takes_no_more_than_all_of_it_evaporating conduction/water.rs \
    'LATENT_J_KG: f64 = 2.257e6' 'LATENT_J_KG: f64 = 2.501e6' 'latent heat of 0 °C for that of 100 °C'
mistake $t a_spray_takes_no_more_than_all_of_it_evaporating conduction/water.rs \
    'drying + boiling * (self.rate_kg_m2s - drying)' 'drying + boiling * self.rate_kg_m2s' \
    'more water evaporates than falls'
mistake $t a_sprayed_wall_cools conduction/boundary.rs 'self.flux_w_m2 - water' 'self.flux_w_m2 + water' \
    'sign of the heat that water takes'
mistake $t a_sprayed_wall_cools conduction/water.rs 'drying + boiling * (self.rate_kg_m2s - drying)' '0.0' \
    'no water evaporates'
mistake $t materials_are_those_of_the_tables conduction/library.rs '    0.16,
    950.0' '    0.61,
    950.0' 'digits of the conductivity of plasterboard transposed'
mistake $t materials_are_those_of_the_tables conduction/library.rs '    7850.0,
    465.0' '    7850.0,
    460.0' 'specific heat of another steel'
mistake $t stefan_and_boltzmann conduction/boundary.rs '5.670_374_419e-8' '5.670_367e-8' \
    'CODATA 2014 for 2018'

# Walls: closed forms.
t=conduction_closed_forms
mistake $t half_spaces_follow_the_closed_forms conduction/wall.rs '0.5 * cell_m * material.density' '0.52 * cell_m * material.density' \
    '4 % too much heat capacity'
mistake $t plane_walls_with_convection_follow_the_series conduction/wall.rs \
    'Link::Solid(material.conductivity_w_mk / cell_m)' 'Link::Solid(1.02 * material.conductivity_w_mk / cell_m)' \
    'conductivity 2 % too large'
mistake $t the_error_falls_with_the_square_of_the_cell conduction/wall.rs \
    'let halves = if node == first || node == last {
                1.0' 'let halves = if node == first || node == last {
                2.0' 'nodes of a face hold a whole cell'
mistake $t the_error_falls_with_the_square_of_the_step conduction/wall.rs \
    '1.0 - std::f64::consts::FRAC_1_SQRT_2' 'std::f64::consts::FRAC_1_SQRT_2' '1/√2 for 1 − 1/√2 in the stages'
mistake $t a_thin_sheet_follows_the_lumped_solution conduction/wall.rs \
    'halves * half_kg_m2 * material.specific_heat_j_kgk' '1.02 * halves * half_kg_m2 * material.specific_heat_j_kgk' \
    '2 % too much heat capacity'
mistake $t ignition_times_of_drysdale conduction/wall.rs \
    'halves * half_kg_m2 * material.specific_heat_j_kgk' '1.02 * halves * half_kg_m2 * material.specific_heat_j_kgk' \
    '2 % too much heat capacity'

# Exposure curves.
t=exposure_curves
mistake $t nominal_curves fire/exposure.rs '0.675 * (-2.5 * t)' '0.657 * (-2.5 * t)' 'digits of the hydrocarbon curve transposed'
mistake $t nominal_curves fire/exposure.rs '(-0.32 * t)' '(-0.23 * t)' 'digits of the external curve transposed'
mistake $t nominal_curves fire/exposure.rs '(8.0 * t_s.max(0.0) / 60.0 + 1.0)' '(8.0 * t_s.max(0.0) + 1.0)' \
    'seconds for minutes in ISO 834'
mistake $t e119_passes_through_its_table fire/exposure.rs '(45.0, 1638.0)' '(45.0, 1683.0)' 'digits of a point of E119 transposed'
mistake $t e119_passes_through_its_table fire/exposure.rs '(fahrenheit + 459.67) / 1.8' '(fahrenheit + 460.0) / 1.8' \
    'absolute zero of the Fahrenheit scale rounded'
mistake $t a_history_is_straight_between_its_entries fire/exposure.rs \
    'first.blend(second, (t_s - from) / (to - from))' 'first.blend(second, (to - t_s) / (to - from))' \
    'a history runs backwards between entries'
mistake $t a_history_is_straight_between_its_entries fire/exposure.rs \
    'flux_w_m2: emissivity * self.incident_w_m2' 'flux_w_m2: self.incident_w_m2' 'a grey face absorbs all that falls on it'
mistake $t names_of_curves_are_read fire/exposure.rs '"external" => Ok(Self::External)' '"external" => Ok(Self::Hydrocarbon)' \
    'one curve under the name of another'
mistake $t names_of_curves_are_read fire/exposure.rs 'kelvin.0 > 1800.05' 'kelvin.0 > 2073.15' 'limit of a constant exposure raised to 1800 °C'

# Correlations of fires.
t=fire_correlations
mistake $t mqh_of_the_worksheet_rooms fire/compartment.rs '+ walls - vents' '+ walls' 'openings counted as lining'
mistake $t mqh_vectors fire/compartment.rs '(0.5 * self.thickness_m).powi(2)' 'self.thickness_m.powi(2)' \
    'penetration time of the whole thickness for half'
mistake $t mqh_vectors fire/compartment.rs '6.85 * (power_kw' '6.58 * (power_kw' 'digits of the MQH constant transposed'
mistake $t flashover_powers fire/compartment.rs '(vent_factor * coefficient_kw_m2k * surface_m2).sqrt()' \
    '(vent_factor * coefficient_kw_m2k * surface_m2).cbrt()' 'cube root for square root'
mistake $t flashover_powers fire/compartment.rs '378.0 * vent_factor' '387.0 * vent_factor' "digits of Thomas's constant transposed"
mistake $t heskestad fire/plume.rs '(0.235 * power_kw' '(0.253 * power_kw' 'digits of the flame height transposed'
mistake $t heskestad fire/plume.rs '0.083 * power_kw' '0.038 * power_kw' 'digits of the virtual origin transposed'
mistake $t heskestad fire/plume.rs 'above_m.powf(-5.0 / 3.0)' 'above_m.powf(-4.0 / 3.0)' 'exponent −4/3 for −5/3 on the centreline'
mistake $t plume_temperatures_are_those_of_flames fire/plume.rs 'kappa / (0.9 *' 'kappa / (1.0 *' "McCaffrey's 0.9 left out"
mistake $t plume_temperatures_are_those_of_flames fire/plume.rs '(1.0 - self.radiative_share) * self.power_kw' 'self.power_kw' \
    'radiated power left in the plume'
mistake $t plume_temperatures_are_those_of_flames fire/plume.rs '0.21 * (air' '0.12 * (air' "digits of Zukoski's constant transposed"
mistake $t radiation_on_targets fire/radiation.rs '(4.0 * PI * distance_m' '(2.0 * PI * distance_m' 'half a sphere for a whole one'
mistake $t radiation_on_targets fire/radiation.rs 'powf(-1.59)' 'powf(-1.95)' 'digits of an exponent transposed'
mistake $t radiation_on_targets fire/radiation.rs 'PI * diameter_m * (flame_m + 0.25' 'PI * diameter_m * (flame_m + 0.5' \
    'two ends of the flame radiate for one'
mistake $t growth_times fire/growth.rs '0.011_72' '0.011_27' 'digits of the medium fire transposed'
mistake $t growth_times fire/growth.rs 'self.alpha_kw_s2 * since * since)' 'self.alpha_kw_s2 * since.powf(1.9))' \
    'power grows with t^1.9'
mistake $t filling_and_density fire/layer.rs 'let sunk = 2.0 * k' 'let sunk = 3.0 * k' 'factor of the filling relation'
mistake $t filling_and_density fire/plume.rs 'AIR_DENSITY_KELVIN: f64 = 353.0' 'AIR_DENSITY_KELVIN: f64 = 348.0' 'density of air at another pressure'
mistake $t a_closed_room_fills_as_the_closed_form_says fire/layer.rs '(hot * self.room.floor_m2())' '(cold * self.room.floor_m2())' \
    'density of air for that of smoke'
mistake $t with_a_door_the_interface_settles fire/layer.rs 'FLOW_COEFFICIENT: f64 = 0.7' 'FLOW_COEFFICIENT: f64 = 0.6' \
    'flow coefficient 0.6 for 0.7'
mistake $t with_a_door_the_interface_settles fire/layer.rs 'let drive = 2.0 * GRAVITY' 'let drive = GRAVITY' \
    "2 of Bernoulli's equation left out"
mistake $t with_a_door_the_interface_settles fire/layer.rs 'per_metre * (drive * hot).sqrt()' 'per_metre * (drive * cold).sqrt()' \
    'hot gas leaves with the density of air'
mistake $t leaving_the_limits_is_said fire/compartment.rs 'AIR_KW: f64 = 1515.0' 'AIR_KW: f64 = 1551.0' 'digits of the power of air transposed'
mistake $t leaving_the_limits_is_said fire/compartment.rs 'FLASHOVER_RISE_K: f64 = 600.0' 'FLASHOVER_RISE_K: f64 = 500.0' \
    'limit of 500 K for 600 K'
mistake $t leaving_the_limits_is_said fire/compartment.rs 'FAINT_RISE_K: f64 = 20.0' 'FAINT_RISE_K: f64 = 36.0' '36 °F taken for 36 K'
mistake $t leaving_the_limits_is_said fire/compartment.rs 'EARLY_S: f64 = 10.0' 'EARLY_S: f64 = 3.0' 'layer taken to stand after 3 s'

# View factors.
t=view_factors
mistake $t closed_forms_agree_with_integration fire/view_factor.rs '0.5 * (x1 * y1' '0.25 * (x1 * y1' 'logarithm of a quarter for a half'
mistake $t closed_forms_agree_with_integration fire/view_factor.rs '(w2 * sum / (a * (w2 + h2)))' '(w2 * sum / (b * (w2 + h2)))' \
    'one side taken for the other'
mistake $t a_cube_is_closed fire/view_factor.rs '0.25 * logs' '0.5 * logs' 'logarithms doubled'
mistake $t perpendicular_rectangles_are_reciprocal fire/view_factor.rs '/ (PI * w)' '/ (PI * h)' 'area of the wrong face'
mistake $t targets_agree_with_integration fire/view_factor.rs '/ (2.0 * PI)
}

/// From a small target to a rectangle at' '/ PI
}

/// From a small target to a rectangle at' '2 left out before a corner'
mistake $t targets_agree_with_integration fire/view_factor.rs '(x.atan() - (x / y1).atan() / y1)' '(x.atan() - (x / y1).atan())' \
    'a root left out beside a corner'
mistake $t targets_agree_with_integration fire/view_factor.rs '4.0 * target_before_corner' '2.0 * target_before_corner' \
    'two quarters of a rectangle for four'

# What shows behind walls.
t=what_shows
mistake $t behind_thin_steel_the_early_onset_shows_and_the_late_one_does_not conduction/library.rs \
    '    7850.0,
    465.0' '    7850.0,
    4650.0' 'specific heat of steel ten times too large'
mistake $t behind_thin_steel_the_early_onset_shows_and_the_late_one_does_not conduction/boundary.rs \
    'self.convection_w_m2k * (self.gas_k - face_k) + radiation' 'radiation' 'no convection at faces'
mistake $t behind_plaster_on_lath_nothing_shows_for_a_long_time conduction/library.rs \
    'let layer = |material, mm: f64| Ply::solid(material, mm * 1e-3)' 'let layer = |material, mm: f64| Ply::solid(material, mm * 3.048e-4)' \
    'feet for metres in the thickness of layers'
mistake $t walls_insulate_about_as_long_as_trade_tables_say conduction/library.rs 'layer(PLASTERBOARD, 12.5),
                upright' 'layer(PLASTERBOARD, 1.25),
                upright' 'first board 1.25 mm thick for 12.5 mm'
mistake $t walls_insulate_about_as_long_as_trade_tables_say conduction/library.rs '    0.72,
    1920.0' '    1.72,
    1920.0' 'conductivity of brick 1.72 for 0.72'
mistake $t the_face_appears_as_a_grey_body_in_its_room barrier.rs '(1.0 - look.emissivity) * table' '0.0 * table' \
    'what the face mirrors left out'
mistake $t onset_times_do_not_depend_on_the_grid conduction/wall.rs \
    'let halves = if node == first || node == last {
                1.0' 'let halves = if node == first || node == last {
                2.0' 'nodes of a face hold a whole cell'
mistake $t ends_of_reaching barrier.rs 'if self.moments.first()?.apparent_k >= kelvin' 'if self.moments.first()?.apparent_k >= kelvin + 1.0' \
    'a face hot from the start is sought later'

list() {
    local i
    for i in "${!checks[@]}"; do
        wanted "$i" && printf '%-24s %-64s %s\n' "${tests[i]}" "${checks[i]}" "${words[i]}"
    done
}

# Whether a mistake is among those asked for.
only=()
wanted() {
    local word
    [ ${#only[@]} -eq 0 ] && return 0
    for word in "${only[@]}"; do
        [[ ${tests[$1]}/${checks[$1]}/${files[$1]} == *"$word"* ]] && return 0
    done
    return 1
}

do_list=false table=false
for argument; do
    case $argument in
        --list) do_list=true ;;
        --table) table=true ;;
        -h | --help) sed -n '2,/^$/s/^# \{0,1\}//p' "$0"; exit 0 ;;
        -*) echo "no option '$argument'; --help tells what there is"; exit 2 ;;
        *) only+=("$argument") ;;
    esac
done
if $do_list; then
    list
    exit 0
fi

# Always the same place: tests keep the path of their data. New times, so that nothing built before is taken for it.
readonly copy=$CARGO_TARGET_DIR/copy
rm -rf "$copy"
mkdir -p "$copy" || exit 2
trap 'rm -rf "$copy"' EXIT
trap 'exit 130' INT TERM
git ls-files -z --cached --others --exclude-standard | while IFS= read -r -d '' file; do
    [ -e "$file" ] && printf '%s\0' "$file"
done | tar --null -T - -cf - | tar -xmf - -C "$copy" || exit 2
cd "$copy" || exit 2

# The part of sim-host that the checks need, and no more.
sed -i.bak '/^members = /s/=.*/= ["core", "sim-host", "tests\/physics"]/' Cargo.toml
rm -r sim-host/src/main.rs sim-host/benches sim-host/examples sim-host/tests
printf '%s\n' '[package]' 'name = "glowsill"' 'version.workspace = true' 'edition.workspace = true' '[dependencies]' \
    'glowsill-core.workspace = true' 'serde = { workspace = true, features = ["std"] }' 'thiserror.workspace = true' \
    >sim-host/Cargo.toml
printf '%s\n' 'pub mod temperature;' 'pub mod world;' >sim-host/src/lib.rs
printf '%s\n' 'pub mod barrier;' 'pub mod conduction;' 'pub mod fire;' 'pub mod radiometry;' \
    'pub(crate) mod rounding;' >sim-host/src/world/mod.rs

# Runs one check: 0 passed, 1 failed, 2 did not build or was not there. What it said is in $said.
check() {
    local log
    log=$(cargo test -q -p glowsill-physics --test "$1" --no-run 2>&1) || { said=$log; return 2; }
    said=$(cargo test -q -p glowsill-physics --test "$1" -- --exact "$2" 2>&1)
    case $said in
        *'test result: ok. 1 passed;'*) return 0 ;;
        *'test result: FAILED. 0 passed; 1 failed;'*) return 1 ;;
        *) return 2 ;;
    esac
}

# The first line that the failing check said about the values, shortened.
reason() {
    awk '/panicked at/ { getline; print substr($0, 1, 110); exit }' <<<"$said"
}

# A check that fails without a mistake would notice every one.
declare -A sound=()
for i in "${!checks[@]}"; do
    wanted "$i" && [ -z "${sound[${checks[i]}]-}" ] || continue
    check "${tests[i]}" "${checks[i]}" || { echo "${checks[i]} fails, or is not there, without any mistake:"; echo "$said"; exit 2; }
    sound[${checks[i]}]=yes
done
echo "${#sound[@]} checks pass without a mistake"

missed=0 noticed=0 rows=()
for i in "${!checks[@]}"; do
    wanted "$i" || continue
    name=${checks[i]}
    whole=$(<"${files[i]}")
    without=${whole/"${froms[i]}"/}
    if [ "$whole" = "$without" ] || [[ $without == *"${froms[i]}"* ]]; then
        echo "${files[i]}: this must stand there once: ${froms[i]}"
        exit 2
    fi
    printf '%s\n' "${whole/"${froms[i]}"/"${tos[i]}"}" >"${files[i]}"
    check "${tests[i]}" "$name"
    case $? in
        0) verdict='NOT NOTICED' missed=$((missed + 1)) ;;
        1) verdict=noticed noticed=$((noticed + 1)) ;;
        *) echo "with the mistake '${words[i]}' nothing can be run:"; echo "$said"; exit 2 ;;
    esac
    printf '%s\n' "$whole" >"${files[i]}"
    printf '%-12s %s: %s\n' "$verdict" "$name" "${words[i]}"
    [ "$verdict" = noticed ] && printf '             %s\n' "$(reason)"
    rows+=("| \`${tests[i]}\`: \`$name\` | ${words[i]} (\`${files[i]#sim-host/src/world/}\`) | $verdict: $(reason | tr '|' '/') |")
done
$table && printf '%s\n' "${rows[@]}"
echo "$noticed noticed, $missed not"
[ "$missed" -eq 0 ]
