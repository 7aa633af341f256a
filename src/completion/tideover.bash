# bash completion for tideover
_tideover() {
    local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
    local commands="start run merge compare vary size why season fit check diary library explain"
    local options="--trials --random-seed --threads --out --set --per-trial --trial --part --state --precision --most-trials
        --measure --food --food-year --versus --worth --until-clear --over --by --risk --confidence --cost --base --hard-frost
        --year-starts --fahrenheit --date-column --tmin-column --tmax-column --generate --weather --prior --weight --configs
        --decimal-comma --pounds --plot --quiet --help --version"
    case $before in
        --out | -o | --configs) mapfile -t COMPREPLY < <(compgen -d -- "$current"); return ;;
        --cost) mapfile -t COMPREPLY < <(compgen -W "bed_m2 hours money" -- "$current"); return ;;
        --food) mapfile -t COMPREPLY < <(compgen -W "beans squash any" -- "$current"); return ;;
    esac
    if [ "$COMP_CWORD" -eq 1 ]; then
        mapfile -t COMPREPLY < <(compgen -W "$commands --help --version" -- "$current")
    elif [[ $current == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$options" -- "$current")
    else
        mapfile -t COMPREPLY < <(compgen -f -X '!*.cfg' -- "$current"; compgen -f -X '!*.csv' -- "$current"
            compgen -f -X '!*.tideover-state' -- "$current"
            compgen -d -- "$current")
    fi
}
complete -o filenames -F _tideover tideover
